"""Let a visit say what it is made for: everything on the register, or what falls due up to a day.

Visits, wanted visits and proposals that are there say nothing, which means everything; nothing else is touched.
"""

import sqlalchemy as sa
from alembic import op

revision = "0024_made_for_what_falls_due"
down_revision = "0023_all_papers_found"


def upgrade() -> None:
    for table in ("visits", "wanted_visits", "proposals"):
        op.add_column(table, sa.Column("due_until", sa.Date(), nullable=True))
