"""Keep that a calibration found an instrument out of tolerance.

1. Every calibration there is counts as passed, as it did.
2. Nothing else changes.
"""

import sqlalchemy as sa
from alembic import op

revision = "0004_failed_calibrations"
down_revision = "0003_decisions"


def upgrade() -> None:
    op.add_column("calibrations", sa.Column("passed", sa.Boolean(), nullable=False, server_default=sa.true()))
