"""What bank statements and lists of recalls have alike as files that are brought in: they wait until somebody has said
what their columns mean.
"""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column


class UploadColumns:
    """A file as it was brought in. content is dropped once its lines are taken in or the file is discarded; mark tells
    the same kind of file again, columns what its columns meant, taken and known how many lines were new and not.
    """

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    content: Mapped[bytes | None]
    mark: Mapped[str] = mapped_column(index=True)
    columns: Mapped[dict[str, Any]]
    state: Mapped[str]
    taken: Mapped[int] = mapped_column(default=0)
    known: Mapped[int] = mapped_column(default=0)
    uploaded_at: Mapped[datetime]
    uploaded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
