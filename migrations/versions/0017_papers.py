"""Keep registers, lists of defects, and certificates and histories of single items; and when an item was withdrawn.

1. New tables for the papers, their corrections and those made void; no firm has any yet.
2. Triggers refuse to change an issued paper, to remove one, and to change what was said of one.
3. An item gets the day on which it was withdrawn. For those withdrawn before, it is taken from the journal, in UTC.
"""

import sqlalchemy as sa
from alembic import op

revision = "0017_papers"
down_revision = "0016_mails"

FROZEN = (
    "kind", "number", "code", "customer_id", "premises_id", "item_id", "visit_item_id", "purpose", "as_at", "data",
    "file_name", "issued_on", "items", "sha256",
)  # fmt: skip
KEPT = ("paper_revisions", "paper_voids")
SENTENCE = "what was said of an issued paper stays"


def upgrade() -> None:
    op.add_column("items", sa.Column("withdrawn_on", sa.Date(), nullable=True))
    _tables()
    sqlite = op.get_bind().dialect.name == "sqlite"
    day = "substr(MAX(at), 1, 10)" if sqlite else "(MAX(at) AT TIME ZONE 'UTC')::date"
    op.execute(
        f"UPDATE items SET withdrawn_on = (SELECT {day} FROM journal WHERE subject = 'item' AND subject_id = items.id "
        "AND sentence LIKE '% is now withdrawn: %') WHERE state = 'withdrawn'"
    )
    if sqlite:
        _lock_on_sqlite()
    else:
        _lock_on_postgres()


def _tables() -> None:
    op.create_table(
        "papers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("premises_id", sa.Integer(), nullable=True),
        sa.Column("item_id", sa.Integer(), nullable=True),
        sa.Column("visit_item_id", sa.Integer(), nullable=True),
        sa.Column("purpose", sa.String(), nullable=False),
        sa.Column("as_at", sa.Date(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("issued_on", sa.Date(), nullable=False),
        sa.Column("issued_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("issued_by_id", sa.Integer(), nullable=False),
        sa.Column("items", sa.Integer(), nullable=False),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.Column("file_name", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["customer_id"], ["customers.id"], name="fk_papers_customer_id"),
        sa.ForeignKeyConstraint(["premises_id"], ["premises.id"], name="fk_papers_premises_id"),
        sa.ForeignKeyConstraint(["item_id"], ["items.id"], name="fk_papers_item_id"),
        sa.ForeignKeyConstraint(["visit_item_id"], ["visit_items.id"], name="fk_papers_visit_item_id"),
        sa.ForeignKeyConstraint(["issued_by_id"], ["people.id"], name="fk_papers_issued_by_id"),
        sa.PrimaryKeyConstraint("id", name="pk_papers"),
        sa.UniqueConstraint("number", name="uq_papers_number"),
        sa.UniqueConstraint("code", name="uq_papers_code"),
        sqlite_strict=True,
    )
    for name in ("customer_id", "premises_id", "item_id"):
        op.create_index(f"ix_papers_{name}", "papers", [name])
    op.create_table(
        "paper_revisions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("paper_id", sa.Integer(), nullable=False),
        sa.Column("replaces_id", sa.Integer(), nullable=False),
        sa.Column("first_id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["paper_id"], ["papers.id"], name="fk_paper_revisions_paper_id"),
        sa.ForeignKeyConstraint(["replaces_id"], ["papers.id"], name="fk_paper_revisions_replaces_id"),
        sa.ForeignKeyConstraint(["first_id"], ["papers.id"], name="fk_paper_revisions_first_id"),
        sa.PrimaryKeyConstraint("id", name="pk_paper_revisions"),
        sa.UniqueConstraint("paper_id", name="uq_paper_revisions_paper_id"),
        sa.UniqueConstraint("replaces_id", name="uq_paper_revisions_replaces_id"),
        sa.UniqueConstraint("first_id", "revision", name="uq_paper_revisions_first_id_revision"),
        sqlite_strict=True,
    )
    op.create_table(
        "paper_voids",
        sa.Column("paper_id", sa.Integer(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("voided_by_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["paper_id"], ["papers.id"], name="fk_paper_voids_paper_id"),
        sa.ForeignKeyConstraint(["voided_by_id"], ["people.id"], name="fk_paper_voids_voided_by_id"),
        sa.PrimaryKeyConstraint("paper_id", name="pk_paper_voids"),
        sqlite_strict=True,
    )


def _changed(differs: str) -> str:
    changed = " OR ".join(f"CAST(NEW.{name} AS TEXT) {differs} CAST(OLD.{name} AS TEXT)" for name in FROZEN)
    return f"OLD.state = 'issued' AND (NEW.state <> 'issued' OR {changed})"


def _lock_on_sqlite() -> None:
    op.execute(
        f"CREATE TRIGGER papers_keep_update BEFORE UPDATE ON papers WHEN {_changed('IS NOT')} "
        "BEGIN SELECT RAISE(ABORT, 'an issued paper is frozen'); END"
    )
    op.execute(
        "CREATE TRIGGER papers_keep_delete BEFORE DELETE ON papers "
        "BEGIN SELECT RAISE(ABORT, 'a numbered paper stays in its series'); END"
    )
    for table in KEPT:
        for deed in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_keep_{deed.lower()} BEFORE {deed} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{SENTENCE}'); END"
            )


def _lock_on_postgres() -> None:
    op.execute(
        f"CREATE TRIGGER papers_keep_update BEFORE UPDATE ON papers FOR EACH ROW WHEN ({_changed('IS DISTINCT FROM')}) "
        "EXECUTE FUNCTION ohmstead_refuse('an issued paper is frozen')"
    )
    op.execute(
        "CREATE TRIGGER papers_keep_delete BEFORE DELETE ON papers FOR EACH ROW "
        "EXECUTE FUNCTION ohmstead_refuse('a numbered paper stays in its series')"
    )
    for table in KEPT:
        op.execute(
            f"CREATE TRIGGER {table}_keep BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW "
            f"EXECUTE FUNCTION ohmstead_refuse('{SENTENCE}')"
        )
