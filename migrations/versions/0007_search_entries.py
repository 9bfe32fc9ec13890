"""Keep the words by which customers, premises, items, visits, papers and instruments are found.

1. The new table is empty; the app fills it from what is there when it next starts.
2. The database keeps an index of the words in step with the table: FTS5 in SQLite, GIN in PostgreSQL.
3. No other data is touched.
"""

import sqlalchemy as sa
from alembic import op

revision = "0007_search_entries"
down_revision = "0006_rulebook_settings"

ADD = "INSERT INTO search_index (rowid, subject, words) VALUES (NEW.id, NEW.subject, NEW.words);"
TAKE_OUT = (
    "INSERT INTO search_index (search_index, rowid, subject, words) VALUES ('delete', OLD.id, OLD.subject, OLD.words);"
)


def upgrade() -> None:
    op.create_table(
        "search_entries",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("subject_id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_search_entries")),
        sa.UniqueConstraint("subject", "subject_id", name=op.f("uq_search_entries_subject_subject_id")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_search_entries_code"), "search_entries", ["code"])
    if op.get_bind().dialect.name != "sqlite":
        op.execute("CREATE INDEX search_index ON search_entries USING gin (to_tsvector('simple', words))")
        return
    op.execute(
        "CREATE VIRTUAL TABLE search_index USING fts5 "
        "(subject, words, content='search_entries', content_rowid='id', tokenize='unicode61', prefix='1 2 3')"
    )
    for when, what in (("INSERT", ADD), ("DELETE", TAKE_OUT), ("UPDATE", TAKE_OUT + ADD)):
        op.execute(f"CREATE TRIGGER search_entries_{when.lower()} AFTER {when} ON search_entries BEGIN {what} END")
