"""Keep what happens to money after an invoice is issued.

1. A payment belongs to its customer and is shared among invoices. Every payment there is keeps its number, day, amount
   and reference, as a bank transfer for the customer of its invoice, with one share for that invoice.
2. New tables for credit notes, claims for late payment, base rates, reminder letters and bank statements.
3. A customer has a kind for the law on late payment; all there are count as businesses until somebody says otherwise.
   The firm has a prefix for credit notes.
4. An issued credit note or claim is frozen like an invoice, as are the lines of an issued invoice; the amount of a
   payment does not change and no payment is deleted.
"""

import sqlalchemy as sa
from alembic import op

revision = "0012_money_after_issue"
down_revision = "0011_revisions"

PAPER = ("number", "customer_id", "invoice_id", "data", "file_name", "issued_on", "sha256")
FROZEN = {
    "credit_notes": (*PAPER, "reason", "agreed_on", "net_pence", "vat_pence", "gross_pence"),
    "claims": (*PAPER, "until", "interest_pence", "fixed_pence"),
}
PAYMENT = ("customer_id", "direction", "paid_on", "pence", "bank_line_id")


def upgrade() -> None:
    op.add_column("customers", sa.Column("kind", sa.String(), nullable=False, server_default=sa.text("'business'")))
    op.add_column("firms", sa.Column("credit_note_prefix", sa.String(), nullable=False, server_default="CN"))
    _make_bank_tables()
    _move_payments()
    _make_papers()
    _make_letters()
    if op.get_bind().dialect.name == "sqlite":
        _lock_on_sqlite()
    else:
        _lock_on_postgres()


def _make_bank_tables() -> None:
    op.create_table(
        "bank_files",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=True),
        sa.Column("mark", sa.String(), nullable=False),
        sa.Column("columns", sa.JSON(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("taken", sa.Integer(), nullable=False),
        sa.Column("known", sa.Integer(), nullable=False),
        sa.Column("uploaded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("uploaded_by_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["uploaded_by_id"], ["people.id"], name="fk_bank_files_uploaded_by_id"),
        sa.PrimaryKeyConstraint("id", name="pk_bank_files"),
        sqlite_strict=True,
    )
    op.create_index("ix_bank_files_mark", "bank_files", ["mark"], unique=False)
    op.create_table(
        "bank_lines",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("bank_file_id", sa.Integer(), nullable=False),
        sa.Column("booked_on", sa.Date(), nullable=False),
        sa.Column("pence", sa.Integer(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("reference", sa.String(), nullable=False),
        sa.Column("payer", sa.String(), nullable=False),
        sa.Column("mark", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["bank_file_id"], ["bank_files.id"], name="fk_bank_lines_bank_file_id"),
        sa.PrimaryKeyConstraint("id", name="pk_bank_lines"),
        sa.UniqueConstraint("mark", name="uq_bank_lines_mark"),
        sqlite_strict=True,
    )
    op.create_index("ix_bank_lines_bank_file_id", "bank_lines", ["bank_file_id"], unique=False)
    op.create_index("ix_bank_lines_state", "bank_lines", ["state"], unique=False)


def _move_payments() -> None:
    bind = op.get_bind()
    before = bind.execute(
        sa.text(
            "SELECT p.id, i.customer_id, p.invoice_id, p.paid_on, p.pence, p.reference, p.recorded_at "
            "FROM payments p JOIN invoices i ON i.id = p.invoice_id ORDER BY p.id"
        )
    ).all()
    op.drop_table("payments")
    op.create_table(
        "payments",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("direction", sa.String(), nullable=False),
        sa.Column("paid_on", sa.Date(), nullable=False),
        sa.Column("pence", sa.Integer(), nullable=False),
        sa.Column("method", sa.String(), nullable=False),
        sa.Column("reference", sa.String(), nullable=False),
        sa.Column("bank_line_id", sa.Integer(), nullable=True),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("removed_reason", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["customer_id"], ["customers.id"], name="fk_payments_customer_id"),
        sa.ForeignKeyConstraint(["bank_line_id"], ["bank_lines.id"], name="fk_payments_bank_line_id"),
        sa.ForeignKeyConstraint(["recorded_by_id"], ["people.id"], name="fk_payments_recorded_by_id"),
        sa.PrimaryKeyConstraint("id", name="pk_payments"),
        sqlite_strict=True,
    )
    op.create_index("ix_payments_customer_id", "payments", ["customer_id"], unique=False)
    op.create_index("ix_payments_bank_line_id", "payments", ["bank_line_id"], unique=False)
    op.create_table(
        "payment_shares",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("payment_id", sa.Integer(), nullable=False),
        sa.Column("invoice_id", sa.Integer(), nullable=False),
        sa.Column("pence", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["payment_id"], ["payments.id"], name="fk_payment_shares_payment_id"),
        sa.ForeignKeyConstraint(["invoice_id"], ["invoices.id"], name="fk_payment_shares_invoice_id"),
        sa.PrimaryKeyConstraint("id", name="pk_payment_shares"),
        sqlite_strict=True,
    )
    op.create_index("ix_payment_shares_payment_id", "payment_shares", ["payment_id"], unique=False)
    op.create_index("ix_payment_shares_invoice_id", "payment_shares", ["invoice_id"], unique=False)
    for row in before:
        bind.execute(
            sa.text(
                "INSERT INTO payments (id, customer_id, direction, paid_on, pence, method, reference, recorded_at, "
                "removed_reason) VALUES (:id, :customer_id, 'received', :paid_on, :pence, 'bank-transfer', :reference, "
                ":recorded_at, '')"
            ),
            dict(row._mapping),
        )
        bind.execute(
            sa.text("INSERT INTO payment_shares (payment_id, invoice_id, pence) VALUES (:id, :invoice_id, :pence)"),
            dict(row._mapping),
        )
    if before and bind.dialect.name != "sqlite":
        op.execute("SELECT setval(pg_get_serial_sequence('payments', 'id'), (SELECT max(id) FROM payments))")


def _make_papers() -> None:
    op.create_table(
        "credit_notes",
        *_paper_columns(),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("agreed_on", sa.Date(), nullable=False),
        sa.Column("net_pence", sa.Integer(), nullable=False),
        sa.Column("vat_pence", sa.Integer(), nullable=False),
        sa.Column("gross_pence", sa.Integer(), nullable=False),
        *_paper_constraints("credit_notes"),
        sqlite_strict=True,
    )
    op.create_index("ix_credit_notes_customer_id", "credit_notes", ["customer_id"], unique=False)
    op.create_index("ix_credit_notes_invoice_id", "credit_notes", ["invoice_id"], unique=False)
    op.create_index("ix_credit_notes_issued_on", "credit_notes", ["issued_on"], unique=False)
    op.create_table(
        "credit_note_lines",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("credit_note_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.String(), nullable=False),
        sa.Column("net_pence", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["credit_note_id"], ["credit_notes.id"], name="fk_credit_note_lines_credit_note_id"),
        sa.PrimaryKeyConstraint("id", name="pk_credit_note_lines"),
        sqlite_strict=True,
    )
    op.create_index("ix_credit_note_lines_credit_note_id", "credit_note_lines", ["credit_note_id"], unique=False)
    op.create_table(
        "claims",
        *_paper_columns(),
        sa.Column("until", sa.Date(), nullable=False),
        sa.Column("interest_pence", sa.Integer(), nullable=False),
        sa.Column("fixed_pence", sa.Integer(), nullable=False),
        sa.Column("withdrawn_on", sa.Date(), nullable=True),
        sa.Column("withdrawn_reason", sa.String(), nullable=False),
        *_paper_constraints("claims"),
        sqlite_strict=True,
    )
    op.create_index("ix_claims_customer_id", "claims", ["customer_id"], unique=False)
    op.create_index("ix_claims_invoice_id", "claims", ["invoice_id"], unique=False)


def _paper_columns() -> list[sa.Column[object]]:
    return [
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("invoice_id", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("issued_on", sa.Date(), nullable=False),
        sa.Column("issued_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("issued_by_id", sa.Integer(), nullable=True),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.Column("file_name", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
    ]


def _paper_constraints(table: str) -> list[sa.Constraint]:
    return [
        sa.ForeignKeyConstraint(["customer_id"], ["customers.id"], name=f"fk_{table}_customer_id"),
        sa.ForeignKeyConstraint(["invoice_id"], ["invoices.id"], name=f"fk_{table}_invoice_id"),
        sa.ForeignKeyConstraint(["issued_by_id"], ["people.id"], name=f"fk_{table}_issued_by_id"),
        sa.PrimaryKeyConstraint("id", name=f"pk_{table}"),
        sa.UniqueConstraint("number", name=f"uq_{table}_number"),
    ]


def _make_letters() -> None:
    op.create_table(
        "base_rates",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.Column("percent", sa.String(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_by_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["entered_by_id"], ["people.id"], name="fk_base_rates_entered_by_id"),
        sa.PrimaryKeyConstraint("id", name="pk_base_rates"),
        sa.UniqueConstraint("valid_from", name="uq_base_rates_valid_from"),
        sqlite_strict=True,
    )
    op.create_table(
        "reminder_texts",
        sa.Column("tone", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("tone", name="pk_reminder_texts"),
        sqlite_strict=True,
    )
    op.create_table(
        "reminders",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("tone", sa.String(), nullable=False),
        sa.Column("sent_on", sa.Date(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("invoice_numbers", sa.JSON(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["customer_id"], ["customers.id"], name="fk_reminders_customer_id"),
        sa.ForeignKeyConstraint(["recorded_by_id"], ["people.id"], name="fk_reminders_recorded_by_id"),
        sa.PrimaryKeyConstraint("id", name="pk_reminders"),
        sqlite_strict=True,
    )
    op.create_index("ix_reminders_customer_id", "reminders", ["customer_id"], unique=False)


def _changed(names: tuple[str, ...], differs: str) -> str:
    return " OR ".join(f"CAST(NEW.{name} AS TEXT) {differs} CAST(OLD.{name} AS TEXT)" for name in names)


LINES = {
    "invoice_lines": ("invoices", "invoice_id", "= 'issued'"),
    "credit_note_lines": ("credit_notes", "credit_note_id", "= 'issued'"),
}


def _lock_on_sqlite() -> None:
    for table, names in FROZEN.items():
        op.execute(
            f"CREATE TRIGGER {table}_keep_update BEFORE UPDATE ON {table} "
            f"WHEN OLD.state = 'issued' AND (NEW.state <> 'issued' OR {_changed(names, 'IS NOT')}) "
            "BEGIN SELECT RAISE(ABORT, 'an issued paper is frozen'); END"
        )
        op.execute(
            f"CREATE TRIGGER {table}_keep_delete BEFORE DELETE ON {table} "
            "BEGIN SELECT RAISE(ABORT, 'a numbered paper stays in its series'); END"
        )
    for table, (papers, paper_id, issued) in LINES.items():
        for deed, row in (("INSERT", "NEW"), ("UPDATE", "OLD"), ("DELETE", "OLD")):
            op.execute(
                f"CREATE TRIGGER {table}_keep_{deed.lower()} BEFORE {deed} ON {table} "
                f"WHEN (SELECT state FROM {papers} WHERE id = {row}.{paper_id}) {issued} "
                "BEGIN SELECT RAISE(ABORT, 'the lines of an issued paper are frozen'); END"
            )
    op.execute(
        f"CREATE TRIGGER payments_keep_update BEFORE UPDATE ON payments WHEN {_changed(PAYMENT, 'IS NOT')} "
        "BEGIN SELECT RAISE(ABORT, 'a payment keeps its amount'); END"
    )
    op.execute(
        "CREATE TRIGGER payments_keep_delete BEFORE DELETE ON payments "
        "BEGIN SELECT RAISE(ABORT, 'a payment is marked as removed, never deleted'); END"
    )


def _lock_on_postgres() -> None:
    for table, names in FROZEN.items():
        op.execute(
            f"CREATE TRIGGER {table}_keep_update BEFORE UPDATE ON {table} FOR EACH ROW "
            f"WHEN (OLD.state = 'issued' AND (NEW.state <> 'issued' OR {_changed(names, 'IS DISTINCT FROM')})) "
            "EXECUTE FUNCTION ohmstead_refuse('an issued paper is frozen')"
        )
        op.execute(
            f"CREATE TRIGGER {table}_keep_delete BEFORE DELETE ON {table} FOR EACH ROW "
            "EXECUTE FUNCTION ohmstead_refuse('a numbered paper stays in its series')"
        )
    for table, (papers, paper_id, issued) in LINES.items():
        op.execute(
            f"CREATE FUNCTION {table}_refuse() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
            f"IF (SELECT state FROM {papers} WHERE id = CASE WHEN TG_OP = 'INSERT' THEN NEW.{paper_id} "
            f"ELSE OLD.{paper_id} END) {issued} "
            "THEN RAISE EXCEPTION 'the lines of an issued paper are frozen'; END IF; "
            "IF TG_OP = 'DELETE' THEN RETURN OLD; END IF; RETURN NEW; END $$"
        )
        op.execute(
            f"CREATE TRIGGER {table}_keep BEFORE INSERT OR UPDATE OR DELETE ON {table} FOR EACH ROW "
            f"EXECUTE FUNCTION {table}_refuse()"
        )
    op.execute(
        "CREATE TRIGGER payments_keep_update BEFORE UPDATE ON payments FOR EACH ROW "
        f"WHEN ({_changed(PAYMENT, 'IS DISTINCT FROM')}) EXECUTE FUNCTION ohmstead_refuse('a payment keeps its amount')"
    )
    op.execute(
        "CREATE TRIGGER payments_keep_delete BEFORE DELETE ON payments FOR EACH ROW "
        "EXECUTE FUNCTION ohmstead_refuse('a payment is marked as removed, never deleted')"
    )
