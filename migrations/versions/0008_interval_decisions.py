"""Keep every decision about an item's interval, with its reason, the answers about risk and the evidence.

Items keep the interval and reason they have; decisions made before this are in the journal only.
"""

import sqlalchemy as sa
from alembic import op

revision = "0008_interval_decisions"
down_revision = "0007_search_entries"


def upgrade() -> None:
    op.create_table(
        "interval_decisions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("decided_on", sa.Date(), nullable=False),
        sa.Column("decided_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("person_name", sa.String(), nullable=False),
        sa.Column("months", sa.Integer(), nullable=True),
        sa.Column("months_before", sa.Integer(), nullable=True),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("answers", sa.JSON(), nullable=True),
        sa.Column("evidence", sa.String(), nullable=False),
        sa.Column("together", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["item_id"], ["items.id"], name="fk_interval_decisions_item_id"),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_interval_decisions_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_interval_decisions"),
        sqlite_strict=True,
    )
    op.create_index("ix_interval_decisions_item_id", "interval_decisions", ["item_id"])
