"""Keep how a rulebook is read where its sources leave a choice.

1. The firm can choose each named setting of a rulebook; until it does, the rulebook's usual reading holds.
2. A visit keeps the settings it began with. Visits there are have none, which is the usual reading they were judged by.
"""

import sqlalchemy as sa
from alembic import op

revision = "0006_rulebook_settings"
down_revision = "0005_own_sequences"


def upgrade() -> None:
    op.add_column("firms", sa.Column("rulebook_settings", sa.JSON(), nullable=True))
    op.add_column("visits", sa.Column("rulebook_settings", sa.JSON(), nullable=True))
