"""Let a visit hold several days.

Visits that are there hold one day, as before; proposals too. Nothing else is touched.
"""

import sqlalchemy as sa
from alembic import op

revision = "0026_held_days"
down_revision = "0025_mails_about_papers"


def upgrade() -> None:
    op.add_column("visits", sa.Column("days_asked", sa.Integer(), nullable=True))
    op.add_column("visits", sa.Column("last_on", sa.Date(), nullable=True))
    op.add_column("visits", sa.Column("held_days", sa.JSON(), nullable=True))
    op.add_column("proposals", sa.Column("held_days", sa.JSON(), nullable=True))
