"""Every lock that the database itself holds, by name: a migration that makes a table anew must not lose one."""

from sqlalchemy import text

from app.store.database import Database

ON_BOTH = {
    "certificates_keep_update", "certificates_keep_delete", "invoices_keep_update", "invoices_keep_delete",
    "credit_notes_keep_update", "credit_notes_keep_delete", "claims_keep_update", "claims_keep_delete",
    "payments_keep_update", "payments_keep_delete",
}  # fmt: skip
ON_SQLITE = {"journal_keeps_update", "journal_keeps_delete", "paper_codes_keep_update", "paper_codes_keep_delete"} | {
    f"{table}_keep_{deed}"
    for table in ("invoice_lines", "credit_note_lines")
    for deed in ("insert", "update", "delete")
}
ON_POSTGRES = {"journal_keeps", "paper_codes_keep", "invoice_lines_keep", "credit_note_lines_keep"}


def test_no_lock_is_lost(database: Database) -> None:
    sqlite = database.engine.dialect.name == "sqlite"
    question = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if sqlite
        else "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
    )
    with database.engine.connect() as connection:
        found = {row[0] for row in connection.execute(text(question))}
    assert (ON_BOTH | (ON_SQLITE if sqlite else ON_POSTGRES)) - found == set()
