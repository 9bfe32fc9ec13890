"""Keep reference checks of instruments, calibration certificates as files, and what the owner allows.

1. Instruments get reference items and the checks against them; there are none yet.
2. A calibration can have its certificate as a file; those there are have none.
3. A range can have a fixed amount and a coverage factor; those there are keep their uncertainty, which was for k = 2.
4. A visit keeps what the owner allowed about its instrument. Reasons that were given before stay and are printed, but a
   visit that is still open with an instrument out of calibration now waits for the owner.
"""

import sqlalchemy as sa
from alembic import op

revision = "0010_reference_checks"
down_revision = "0009_label_sheets"


def upgrade() -> None:
    op.create_table(
        "reference_items",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("check", sa.String(), nullable=False),
        sa.Column("nominal", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("tolerance", sa.String(), nullable=False),
        sa.Column("allowed", sa.String(), nullable=False),
        sa.Column("every_days", sa.Integer(), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["instrument_id"], ["instruments.id"], name="fk_reference_items_instrument_id"),
        sa.PrimaryKeyConstraint("id", name="pk_reference_items"),
        sa.UniqueConstraint("instrument_id", "name", name="uq_reference_items_instrument_id_name"),
        sqlite_strict=True,
    )
    op.create_table(
        "reference_checks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("reference_item_id", sa.Integer(), nullable=False),
        sa.Column("checked_on", sa.Date(), nullable=False),
        sa.Column("checked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("person_name", sa.String(), nullable=False),
        sa.Column("value", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("bound", sa.String(), nullable=False),
        sa.Column("nominal", sa.String(), nullable=False),
        sa.Column("low", sa.String(), nullable=False),
        sa.Column("high", sa.String(), nullable=False),
        sa.Column("margin", sa.String(), nullable=True),
        sa.Column("passed", sa.Boolean(), nullable=False),
        sa.Column("working", sa.String(), nullable=False),
        sa.Column("sentence", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_reference_checks_person_id"),
        sa.ForeignKeyConstraint(
            ["reference_item_id"], ["reference_items.id"], name="fk_reference_checks_reference_item_id"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_reference_checks"),
        sqlite_strict=True,
    )
    op.create_index("ix_reference_checks_reference_item_id", "reference_checks", ["reference_item_id"])
    op.create_table(
        "calibration_files",
        sa.Column("calibration_id", sa.Integer(), nullable=False),
        sa.Column("media_type", sa.String(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["calibration_id"], ["calibrations.id"], name="fk_calibration_files_calibration_id"),
        sa.PrimaryKeyConstraint("calibration_id", name="pk_calibration_files"),
        sqlite_strict=True,
    )
    op.add_column("instrument_ranges", sa.Column("absolute", sa.String(), nullable=False, server_default="0"))
    op.add_column("instrument_ranges", sa.Column("coverage", sa.String(), nullable=False, server_default="2"))
    op.add_column("visits", sa.Column("instrument_allowances", sa.JSON(), nullable=True))
