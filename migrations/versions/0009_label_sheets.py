"""Keep the firm's label sheets, and the runs of item numbers that are printed on labels ahead of their items.

Both are new tables; nothing that is there changes.
"""

import sqlalchemy as sa
from alembic import op

revision = "0009_label_sheets"
down_revision = "0008_interval_decisions"

LENGTHS = (
    "width_mm", "height_mm", "left_mm", "top_mm", "gap_across_mm", "gap_down_mm", "inset_mm", "shift_right_mm",
    "shift_down_mm",
)  # fmt: skip


def upgrade() -> None:
    op.create_table(
        "label_sheets",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("feed", sa.String(), nullable=False),
        *(sa.Column(name, sa.String(), nullable=False) for name in LENGTHS),
        sa.Column("columns", sa.Integer(), nullable=False),
        sa.Column("rows", sa.Integer(), nullable=False),
        sa.Column("dots", sa.String(), nullable=False),
        sa.Column("codes", sa.String(), nullable=False),
        sa.Column("shows_description", sa.Boolean(), nullable=False),
        sa.Column("shows_next", sa.Boolean(), nullable=False),
        sa.Column("shows_firm", sa.Boolean(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_label_sheets")),
        sa.UniqueConstraint("name", name=op.f("uq_label_sheets_name")),
        sqlite_strict=True,
    )
    op.create_table(
        "number_runs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("first_number", sa.String(), nullable=False),
        sa.Column("last_number", sa.String(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("reserved_on", sa.Date(), nullable=False),
        sa.ForeignKeyConstraint(["customer_id"], ["customers.id"], name=op.f("fk_number_runs_customer_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_number_runs")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_number_runs_customer_id"), "number_runs", ["customer_id"])
