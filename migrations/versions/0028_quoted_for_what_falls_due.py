"""Let a quote say what it is for: everything on the register, or what falls due up to a day.

Quotes that are there say nothing, which means what it meant; no other column and no row changes.
"""

import sqlalchemy as sa
from alembic import op

revision = "0028_quoted_for_what_falls_due"
down_revision = "0027_paper_codes"


def upgrade() -> None:
    op.add_column("quotes", sa.Column("due_until", sa.Date(), nullable=True))
