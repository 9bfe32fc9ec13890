"""Papers about money from the frozen data to the issued file, and back: invoices, quotes, credit notes, claims.

What is particular to a kind, numbering and freezing, is in its own module.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from sqlalchemy.orm import Session

from app.actions.deeds import Desk
from app.actions.drawings import Tell, begin_drawing
from app.actions.paper_files import PendingPaper, draw_paper, finish_each, open_paper, settle_paper
from app.rules.people import Person
from app.rules.verdicts import Refused
from app.store.firms import get_firm


@dataclass(frozen=True)
class MoneyPaper:
    """A kind of paper about money. word: what people and the journal call it; get: its row by session, id, locked."""

    word: str
    get: Callable[..., Any]
    list_pending: Callable[[Session], Sequence[Any]]


def finish_money_paper(
    desk: Desk, person: Person | None, kind: MoneyPaper, paper_id: int, patience: float | None = None
) -> None:
    """Draw a pending paper outside any transaction, keep the file, and mark it issued with its hash.

    patience: seconds to wait for the paper, which is then drawn further in the background; None: until it is there.
    """
    begin_drawing(desk, kind.word, paper_id, partial(_draw_and_settle, desk, person, kind, paper_id), patience)


def _draw_and_settle(desk: Desk, person: Person | None, kind: MoneyPaper, paper_id: int, tell: Tell) -> None:
    with desk.reading_only() as session:
        row = kind.get(session, paper_id)
        data, logo = row.data, get_firm(session).logo_png
    if data is None:
        raise Refused(f"This {kind.word} is a draft.")
    content = draw_paper(kind.word.replace(" ", "_"), data, logo)
    with desk.doing(person) as deed:
        row = kind.get(deed.session, paper_id, locked=True)
        settle_paper(deed, desk.papers_folder, kind.word, row, content)


def finish_pending_money_papers(desk: Desk, kind: MoneyPaper) -> int:
    """Draw every paper of a kind that a crash left pending; gives their number."""
    with desk.reading_only() as session:
        pending = [row.id for row in kind.list_pending(session)]
    return finish_each(pending, partial(finish_money_paper, desk, None, kind))


def open_money_paper(desk: Desk, kind: MoneyPaper, row: PendingPaper) -> bytes:
    """The PDF of an issued paper, checked against its hash."""
    if row.state != "issued":
        raise Refused(f"This {kind.word} is not issued yet.")
    return open_paper(desk.papers_folder, row.file_name, row.sha256)
