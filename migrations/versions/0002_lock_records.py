"""Lock records that must not change.

1. The journal takes new lines only: a change or a removal of a line is refused by the database itself.
2. An issued certificate or invoice keeps its number, data, file and hash; it cannot be removed.
3. No data is touched.
"""

from alembic import op

revision = "0002_lock_records"
down_revision = "0001_first_tables"

PAPERS = {
    "certificates": ("number", "code", "customer_id", "visit_id", "data", "file_name", "issued_on", "sha256"),
    "invoices": ("number", "customer_id", "data", "file_name", "issued_on", "tax_point", "gross_pence", "sha256"),
}


def _changed(names: tuple[str, ...], differs: str) -> str:
    return " OR ".join(f"CAST(NEW.{name} AS TEXT) {differs} CAST(OLD.{name} AS TEXT)" for name in names)


def upgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":
        for deed in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER journal_keeps_{deed.lower()} BEFORE {deed} ON journal "
                "BEGIN SELECT RAISE(ABORT, 'the journal is only ever added to'); END"
            )
        for table, names in PAPERS.items():
            op.execute(
                f"CREATE TRIGGER {table}_keep_update BEFORE UPDATE ON {table} "
                f"WHEN OLD.state = 'issued' AND (NEW.state <> 'issued' OR {_changed(names, 'IS NOT')}) "
                "BEGIN SELECT RAISE(ABORT, 'an issued paper is frozen'); END"
            )
            op.execute(
                f"CREATE TRIGGER {table}_keep_delete BEFORE DELETE ON {table} WHEN OLD.number IS NOT NULL "
                "BEGIN SELECT RAISE(ABORT, 'a numbered paper stays in its series'); END"
            )
        return
    op.execute(
        "CREATE FUNCTION ohmstead_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION '%', TG_ARGV[0]; END $$"
    )
    op.execute(
        "CREATE TRIGGER journal_keeps BEFORE UPDATE OR DELETE ON journal FOR EACH ROW "
        "EXECUTE FUNCTION ohmstead_refuse('the journal is only ever added to')"
    )
    for table, names in PAPERS.items():
        op.execute(
            f"CREATE TRIGGER {table}_keep_update BEFORE UPDATE ON {table} FOR EACH ROW "
            f"WHEN (OLD.state = 'issued' AND (NEW.state <> 'issued' OR {_changed(names, 'IS DISTINCT FROM')})) "
            "EXECUTE FUNCTION ohmstead_refuse('an issued paper is frozen')"
        )
        op.execute(
            f"CREATE TRIGGER {table}_keep_delete BEFORE DELETE ON {table} FOR EACH ROW WHEN (OLD.number IS NOT NULL) "
            "EXECUTE FUNCTION ohmstead_refuse('a numbered paper stays in its series')"
        )
