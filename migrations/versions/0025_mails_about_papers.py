"""Let e-mails be about any paper, premises or folder, with as many attachments as they have.

1. What goes with a message stands in a table of its own: each certificate, invoice and letter that went with one moves
   there, with its SHA-256, and the columns for them go. Every message keeps its words, its state and its link.
2. A message can name the paper that it is about and the reminder that it is; those there do neither. Their links show
   papers about money, as they did.
3. A reminder can wait for its e-mail to leave; none does yet.
"""

import sqlalchemy as sa
from alembic import op

revision = "0025_mails_about_papers"
down_revision = "0024_made_for_what_falls_due"

LETTER = "letter about recalled products"


def upgrade() -> None:
    op.add_column("reminders", sa.Column("waits", sa.Boolean(), nullable=False, server_default=sa.false()))
    moved = [
        *_attached("certificate", "certificates", "certificate_id"),
        *_attached("invoice", "invoices", "invoice_id"),
        *_letters(),
    ]
    _change_mails()
    op.create_table(
        "mail_attachments",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("mail_id", sa.Integer(), nullable=False),
        sa.Column("paper_kind", sa.String(), nullable=False),
        sa.Column("paper_id", sa.Integer(), nullable=True),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("file_name", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=True),
        sa.ForeignKeyConstraint(["mail_id"], ["mails.id"], name="fk_mail_attachments_mail_id"),
        sa.PrimaryKeyConstraint("id", name="pk_mail_attachments"),
        sqlite_strict=True,
    )
    op.create_index("ix_mail_attachments_mail_id", "mail_attachments", ["mail_id"], unique=False)
    put = sa.text(
        "INSERT INTO mail_attachments (mail_id, paper_kind, paper_id, number, file_name, sha256) "
        "VALUES (:mail_id, :paper_kind, :paper_id, :number, :file_name, :sha256)"
    )
    for values in sorted(moved, key=lambda each: each["mail_id"]):
        op.get_bind().execute(put, values)


def _attached(kind: str, table: str, column: str) -> list[dict[str, object]]:
    """What went with messages of a kind, read before its column goes."""
    query = (
        f"SELECT mails.id, paper.id, paper.number, paper.sha256 FROM mails JOIN {table} AS paper "
        f"ON paper.id = mails.{column}"
    )
    return [
        _row(mail_id, kind, paper_id, number or "", f"{kind}-{number}.pdf", sha256 or "")
        for mail_id, paper_id, number, sha256 in op.get_bind().execute(sa.text(query))
    ]


def _letters() -> list[dict[str, object]]:
    query = "SELECT id, recall_letter_id, attachment_sha256 FROM mails WHERE recall_letter_id IS NOT NULL"
    return [
        _row(mail_id, LETTER, letter_id, "", "letter.pdf", sha256 or "")
        for mail_id, letter_id, sha256 in op.get_bind().execute(sa.text(query))
    ]


def _row(mail_id: int, paper_kind: str, paper_id: int, number: str, file_name: str, sha256: str) -> dict[str, object]:
    return {
        "mail_id": mail_id, "paper_kind": paper_kind, "paper_id": paper_id, "number": number,
        "file_name": file_name, "sha256": sha256,
    }  # fmt: skip


def _change_mails() -> None:
    """On SQLite the table is made anew, to have a foreign key more and columns less; nothing refers to it yet."""
    sqlite = op.get_bind().dialect.name == "sqlite"
    recreate = "always" if sqlite else "never"
    with op.batch_alter_table("mails", recreate=recreate, table_kwargs={"sqlite_strict": True}) as mails:
        for column in ("certificate_id", "invoice_id", "recall_letter_id", "attachment_sha256"):
            mails.drop_column(column)
        mails.add_column(sa.Column("paper_kind", sa.String(), nullable=False, server_default=sa.text("''")))
        mails.add_column(sa.Column("paper_id", sa.Integer(), nullable=True))
        mails.add_column(sa.Column("with_money", sa.Boolean(), nullable=False, server_default=sa.true()))
        mails.add_column(sa.Column("reminder_id", sa.Integer(), nullable=True))
        mails.create_foreign_key("fk_mails_reminder_id", "reminders", ["reminder_id"], ["id"])
