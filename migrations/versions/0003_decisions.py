"""Add what readings are judged by beyond the rulebook.

1. The firm, and a customer where it differs, get a decision rule; a customer can have another rulebook.
2. House limits, stricter than the rulebook, and the ranges of an instrument with their uncertainty get tables.
3. A visit keeps the decision rule and the house limits it began with; those there are were judged by simple acceptance.
4. A reading can keep its uncertainty. No reading, verdict or paper changes.
"""

import sqlalchemy as sa
from alembic import op

revision = "0003_decisions"
down_revision = "0002_lock_records"


def upgrade() -> None:
    op.create_table(
        "house_limits",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=True),
        sa.Column("check", sa.String(), nullable=False),
        sa.Column("construction", sa.String(), nullable=True),
        sa.Column("value", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.Column("ended_on", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(["customer_id"], ["customers.id"], name="fk_house_limits_customer_id"),
        sa.PrimaryKeyConstraint("id", name="pk_house_limits"),
        sqlite_strict=True,
    )
    op.create_index("ix_house_limits_customer_id", "house_limits", ["customer_id"])
    op.create_table(
        "instrument_ranges",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("check", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        *(
            sa.Column(name, sa.String(), nullable=False)
            for name in ("least", "most", "percent", "digits", "resolution")
        ),
        sa.ForeignKeyConstraint(["instrument_id"], ["instruments.id"], name="fk_instrument_ranges_instrument_id"),
        sa.PrimaryKeyConstraint("id", name="pk_instrument_ranges"),
        sqlite_strict=True,
    )
    op.create_index("ix_instrument_ranges_instrument_id", "instrument_ranges", ["instrument_id"])
    op.add_column("firms", sa.Column("decision_rule", sa.String(), nullable=False, server_default="simple"))
    op.add_column("customers", sa.Column("rulebook_id", sa.String(), nullable=False, server_default=sa.text("''")))
    op.add_column("customers", sa.Column("decision_rule", sa.String(), nullable=False, server_default=sa.text("''")))
    op.add_column("visits", sa.Column("decision_rule", sa.String(), nullable=False, server_default="simple"))
    op.add_column("visits", sa.Column("house_limits", sa.JSON(), nullable=True))
    op.add_column("readings", sa.Column("uncertainty", sa.String(), nullable=True))
