"""Keep how items are worked: own sequences, tests after a repair, and how protective conductors are measured.

1. Equipment types, items and the items of a visit can have the firm's own sequence; those there are have none.
2. An item of a visit can be tested after a repair; none there is was. The firm can name who is competent for dielectric
   strength tests, and a visit keeps that name.
3. A visit keeps its test lead, direction and conductor temperature; a reading keeps what was subtracted, the
   temperature and whether it held still. Readings there are keep their values and verdicts.
"""

import sqlalchemy as sa
from alembic import op

revision = "0005_own_sequences"
down_revision = "0004_failed_calibrations"


def upgrade() -> None:
    for table in ("equipment_types", "items", "visit_items"):
        op.add_column(table, sa.Column("own_checks", sa.JSON(), nullable=True))
    op.add_column("visit_items", sa.Column("after_repair", sa.Boolean(), nullable=False, server_default=sa.false()))
    op.add_column("firms", sa.Column("dielectric_by_id", sa.Integer(), nullable=True))
    op.add_column("visits", sa.Column("dielectric_by", sa.String(), nullable=False, server_default=sa.text("''")))
    op.add_column("visits", sa.Column("lead_ohms", sa.String(), nullable=True))
    op.add_column("visits", sa.Column("both_ways", sa.Boolean(), nullable=False, server_default=sa.false()))
    op.add_column("visits", sa.Column("conductor_c", sa.String(), nullable=True))
    op.add_column("readings", sa.Column("lead_ohms", sa.String(), nullable=True))
    op.add_column("readings", sa.Column("conductor_c", sa.String(), nullable=True))
    op.add_column("readings", sa.Column("steady", sa.Boolean(), nullable=False, server_default=sa.true()))
