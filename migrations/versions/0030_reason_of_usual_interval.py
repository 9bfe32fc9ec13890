"""Let an equipment type say why its usual interval is what it is.

Types that are there say nothing; no interval and no other row changes.
"""

import sqlalchemy as sa
from alembic import op

revision = "0030_reason_of_usual_interval"
down_revision = "0029_doubts_dealt_with"


def upgrade() -> None:
    op.add_column(
        "equipment_types", sa.Column("interval_reason", sa.String(), nullable=False, server_default=sa.text("''"))
    )
