"""Keep working times, days off, access times, typed travel times, booking rules, and booking proposals.

No firm has any of it yet, so nothing moves; until something is typed the usual values hold.
"""

import sqlalchemy as sa
from alembic import op

revision = "0020_booking_proposals"
down_revision = "0019_planner"


def upgrade() -> None:
    op.create_table(
        "booking_rules",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("latitude", sa.String(), nullable=True),
        sa.Column("longitude", sa.String(), nullable=True),
        sa.Column("road_factor", sa.String(), nullable=False),
        sa.Column("speed_mph", sa.Integer(), nullable=False),
        sa.Column("unknown_minutes", sa.Integer(), nullable=False),
        sa.Column("region", sa.String(), nullable=False),
        sa.Column("hours", sa.JSON(), nullable=False),
        sa.Column("free_percent", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_booking_rules"),
        sqlite_strict=True,
    )
    op.create_table(
        "days_off",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("first_on", sa.Date(), nullable=False),
        sa.Column("last_on", sa.Date(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_days_off_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_days_off"),
        sqlite_strict=True,
    )
    op.create_index("ix_days_off_last_on", "days_off", ["last_on"], unique=False)
    op.create_index("ix_days_off_person_id", "days_off", ["person_id"], unique=False)
    op.create_table(
        "proposal_runs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("asked_by_id", sa.Integer(), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("begins_on", sa.Date(), nullable=False),
        sa.Column("weeks", sa.Integer(), nullable=False),
        sa.Column("early_days", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("method", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["asked_by_id"], ["people.id"], name="fk_proposal_runs_asked_by_id"),
        sa.PrimaryKeyConstraint("id", name="pk_proposal_runs"),
        sqlite_strict=True,
    )
    op.create_table(
        "working_times",
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("hours", sa.JSON(), nullable=False),
        sa.Column("skills", sa.JSON(), nullable=False),
        sa.Column("week_hours_most", sa.Integer(), nullable=True),
        sa.Column("instrument_id", sa.Integer(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["instrument_id"], ["instruments.id"], name="fk_working_times_instrument_id"),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_working_times_person_id"),
        sa.PrimaryKeyConstraint("person_id", name="pk_working_times"),
        sqlite_strict=True,
    )
    op.create_table(
        "access_times",
        sa.Column("premises_id", sa.Integer(), nullable=False),
        sa.Column("hours", sa.JSON(), nullable=True),
        sa.Column("latitude", sa.String(), nullable=True),
        sa.Column("longitude", sa.String(), nullable=True),
        sa.Column("region", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["premises_id"], ["premises.id"], name="fk_access_times_premises_id"),
        sa.PrimaryKeyConstraint("premises_id", name="pk_access_times"),
        sqlite_strict=True,
    )
    op.create_table(
        "travel_times",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("premises_id", sa.Integer(), nullable=False),
        sa.Column("other_id", sa.Integer(), nullable=True),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["other_id"], ["premises.id"], name="fk_travel_times_other_id"),
        sa.ForeignKeyConstraint(["premises_id"], ["premises.id"], name="fk_travel_times_premises_id"),
        sa.PrimaryKeyConstraint("id", name="pk_travel_times"),
        sa.UniqueConstraint("premises_id", "other_id", name="uq_travel_times_premises_id_other_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_travel_times_other_id", "travel_times", ["other_id"], unique=False)
    op.create_index("ix_travel_times_premises_id", "travel_times", ["premises_id"], unique=False)
    op.create_table(
        "proposals",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("run_id", sa.Integer(), nullable=False),
        sa.Column("premises_id", sa.Integer(), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=True),
        sa.Column("starts_at", sa.String(), nullable=True),
        sa.Column("technician_id", sa.Integer(), nullable=True),
        sa.Column("instrument_id", sa.Integer(), nullable=True),
        sa.Column("travel_minutes", sa.Integer(), nullable=False),
        sa.Column("reasons", sa.JSON(), nullable=False),
        sa.Column("by_hand", sa.Boolean(), nullable=False),
        sa.Column("visit_id", sa.Integer(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["instrument_id"], ["instruments.id"], name="fk_proposals_instrument_id"),
        sa.ForeignKeyConstraint(["premises_id"], ["premises.id"], name="fk_proposals_premises_id"),
        sa.ForeignKeyConstraint(["run_id"], ["proposal_runs.id"], name="fk_proposals_run_id"),
        sa.ForeignKeyConstraint(["technician_id"], ["people.id"], name="fk_proposals_technician_id"),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.id"], name="fk_proposals_visit_id"),
        sa.PrimaryKeyConstraint("id", name="pk_proposals"),
        sqlite_strict=True,
    )
    op.create_index("ix_proposals_run_id", "proposals", ["run_id"], unique=False)
