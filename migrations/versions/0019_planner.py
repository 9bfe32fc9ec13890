"""Keep how long visits hold people and instruments, visits that are wanted, repeat agreements and calendar feeds.

Visits get a name for calendars each; how long those booked before take is not known and stays empty. The outbox may now
hold letters that are about premises and no visit.
"""

from uuid import uuid4

import sqlalchemy as sa
from alembic import op

revision = "0019_planner"
down_revision = "0018_paper_parts"


def upgrade() -> None:
    op.add_column("visits", sa.Column("minutes", sa.Integer(), nullable=True))
    op.add_column("visits", sa.Column("minutes_by_hand", sa.Boolean(), server_default=sa.false(), nullable=False))
    op.add_column("visits", sa.Column("uid", sa.String(), server_default=sa.text("''"), nullable=False))
    op.add_column("visits", sa.Column("booking_changed_at", sa.DateTime(timezone=True), nullable=True))
    visits = sa.table("visits", sa.column("id", sa.Integer()), sa.column("uid", sa.String()))
    connection = op.get_bind()
    for (visit_id,) in connection.execute(sa.select(visits.c.id)).all():
        connection.execute(visits.update().where(visits.c.id == visit_id).values(uid=str(uuid4())))

    op.create_table(
        "repeat_agreements",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("premises_id", sa.Integer(), nullable=False),
        sa.Column("first_on", sa.Date(), nullable=False),
        sa.Column("every_months", sa.Integer(), nullable=False),
        sa.Column("ends_on", sa.Date(), nullable=True),
        sa.Column("end_reason", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("technician_id", sa.Integer(), nullable=True),
        sa.Column("minutes", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("prices", sa.JSON(), nullable=True),
        sa.Column("follows_id", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by_id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["customer_id"], ["customers.id"], name="fk_repeat_agreements_customer_id"),
        sa.ForeignKeyConstraint(["premises_id"], ["premises.id"], name="fk_repeat_agreements_premises_id"),
        sa.ForeignKeyConstraint(["technician_id"], ["people.id"], name="fk_repeat_agreements_technician_id"),
        sa.ForeignKeyConstraint(["follows_id"], ["repeat_agreements.id"], name="fk_repeat_agreements_follows_id"),
        sa.ForeignKeyConstraint(["made_by_id"], ["people.id"], name="fk_repeat_agreements_made_by_id"),
        sa.PrimaryKeyConstraint("id", name="pk_repeat_agreements"),
        sa.UniqueConstraint("follows_id", name="uq_repeat_agreements_follows_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_repeat_agreements_customer_id", "repeat_agreements", ["customer_id"], unique=False)
    op.create_index("ix_repeat_agreements_premises_id", "repeat_agreements", ["premises_id"], unique=False)
    op.create_table(
        "wanted_visits",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("premises_id", sa.Integer(), nullable=False),
        sa.Column("repeat_agreement_id", sa.Integer(), nullable=True),
        sa.Column("wanted_on", sa.Date(), nullable=True),
        sa.Column("technician_id", sa.Integer(), nullable=True),
        sa.Column("minutes", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("state_reason", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("visit_id", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["premises_id"], ["premises.id"], name="fk_wanted_visits_premises_id"),
        sa.ForeignKeyConstraint(
            ["repeat_agreement_id"], ["repeat_agreements.id"], name="fk_wanted_visits_repeat_agreement_id"
        ),
        sa.ForeignKeyConstraint(["technician_id"], ["people.id"], name="fk_wanted_visits_technician_id"),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.id"], name="fk_wanted_visits_visit_id"),
        sa.PrimaryKeyConstraint("id", name="pk_wanted_visits"),
        sa.UniqueConstraint("repeat_agreement_id", "wanted_on", name="uq_wanted_visits_repeat_agreement_id_wanted_on"),
        sa.UniqueConstraint("visit_id", name="uq_wanted_visits_visit_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_wanted_visits_premises_id", "wanted_visits", ["premises_id"], unique=False)
    op.create_index("ix_wanted_visits_wanted_on", "wanted_visits", ["wanted_on"], unique=False)
    op.create_table(
        "calendar_feeds",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("token_hash", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by_id", sa.Integer(), nullable=False),
        sa.Column("withdrawn_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("read_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_calendar_feeds_person_id"),
        sa.ForeignKeyConstraint(["made_by_id"], ["people.id"], name="fk_calendar_feeds_made_by_id"),
        sa.PrimaryKeyConstraint("id", name="pk_calendar_feeds"),
        sa.UniqueConstraint("token_hash", name="uq_calendar_feeds_token_hash"),
        sqlite_strict=True,
    )
    op.create_index("ix_calendar_feeds_person_id", "calendar_feeds", ["person_id"], unique=False)
    op.create_table(
        "planning_settings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("early_days", sa.Integer(), nullable=False),
        sa.Column("late_days", sa.Integer(), nullable=False),
        sa.Column("remind_days", sa.Integer(), nullable=False),
        sa.Column("recall_days", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_planning_settings"),
        sqlite_strict=True,
    )
    op.add_column("mails", sa.Column("invitation", sa.String(), server_default=sa.text("''"), nullable=False))
    with op.batch_alter_table("mails") as mails:
        mails.add_column(sa.Column("premises_id", sa.Integer(), nullable=True))
        mails.alter_column("visit_id", existing_type=sa.Integer(), nullable=True)
        mails.create_foreign_key("fk_mails_premises_id", "premises", ["premises_id"], ["id"])
    op.create_index("ix_mails_premises_id", "mails", ["premises_id"], unique=False)
    op.create_index("ix_mails_visit_id", "mails", ["visit_id"], unique=False)
