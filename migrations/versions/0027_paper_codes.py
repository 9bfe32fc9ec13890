"""Keep the codes of invoices, quotes, credit notes and claims, by which whoever holds one can check it.

1. Papers that are there get none: a code is printed, and what is printed does not change.
2. Triggers refuse to change or remove one.
"""

import sqlalchemy as sa
from alembic import op

revision = "0027_paper_codes"
down_revision = "0026_held_days"

SENTENCE = "the code of an issued paper is frozen"


def upgrade() -> None:
    op.create_table(
        "paper_codes",
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("paper", sa.String(), nullable=False),
        sa.Column("paper_id", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("code", name="pk_paper_codes"),
        sa.UniqueConstraint("paper", "paper_id", name="uq_paper_codes_paper_paper_id"),
        sqlite_strict=True,
    )
    if op.get_bind().dialect.name != "sqlite":
        op.execute(
            "CREATE TRIGGER paper_codes_keep BEFORE UPDATE OR DELETE ON paper_codes FOR EACH ROW "
            f"EXECUTE FUNCTION ohmstead_refuse('{SENTENCE}')"
        )
        return
    for deed in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER paper_codes_keep_{deed.lower()} BEFORE {deed} ON paper_codes "
            f"BEGIN SELECT RAISE(ABORT, '{SENTENCE}'); END"
        )
