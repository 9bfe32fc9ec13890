"""Keep how an instrument was found and left by a calibration, what was struck out and why, and what was decided about
records in doubt.

1. Calibrations that are there say nothing about how the instrument was found; passed goes on to say whether it may be
   used, so each means what it meant.
2. No check that is there has the cause of a failure told, nothing is struck out, and no doubt is dealt with.
3. Triggers refuse to change or remove what was decided.
"""

import sqlalchemy as sa
from alembic import op

revision = "0029_doubts_dealt_with"
down_revision = "0028_quoted_for_what_falls_due"

SENTENCE = "What was decided about records in doubt is never changed or removed."


def upgrade() -> None:
    op.add_column("calibrations", sa.Column("as_found", sa.String(), server_default=sa.text("''"), nullable=False))
    op.add_column(
        "reference_checks", sa.Column("after_failure", sa.Boolean(), server_default=sa.false(), nullable=False)
    )
    for table in ("calibrations", "reference_checks"):
        op.add_column(table, sa.Column("struck_at", sa.DateTime(timezone=True), nullable=True))
        for name in ("struck_by", "struck_reason"):
            op.add_column(table, sa.Column(name, sa.String(), server_default=sa.text("''"), nullable=False))
    op.create_table(
        "doubt_answers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("failures", sa.JSON(), nullable=False),
        sa.Column("since", sa.Date(), nullable=True),
        sa.Column("until", sa.Date(), nullable=False),
        sa.Column("last_reading_id", sa.Integer(), nullable=False),
        sa.Column("decided", sa.String(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("person_name", sa.String(), nullable=False),
        sa.Column("said_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("said_on", sa.Date(), nullable=False),
        sa.ForeignKeyConstraint(["instrument_id"], ["instruments.id"], name="fk_doubt_answers_instrument_id"),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_doubt_answers_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_doubt_answers"),
        sqlite_strict=True,
    )
    op.create_index("ix_doubt_answers_instrument_id", "doubt_answers", ["instrument_id"], unique=False)
    if op.get_bind().dialect.name != "sqlite":
        op.execute(
            "CREATE TRIGGER doubt_answers_keep BEFORE UPDATE OR DELETE ON doubt_answers FOR EACH ROW "
            f"EXECUTE FUNCTION ohmstead_refuse('{SENTENCE}')"
        )
        return
    for deed in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER doubt_answers_keep_{deed.lower()} BEFORE {deed} ON doubt_answers "
            f"BEGIN SELECT RAISE(ABORT, '{SENTENCE}'); END"
        )
