"""Keep fuller prices, quotes, and invoices for several visits.

1. A price agreement can end, and can have a price of a visit, travel, a discount, prices by equipment type or from a
   number of items on, and named extras. Agreements there are keep their prices and stay open-ended.
2. Quotes are new. The firm gets a prefix for their numbers, and the choice of the reverse charge, which is off.
3. An invoice can charge for several visits; every invoice there is charges for the one it has. Lines of drafts keep
   their visit, how VAT treats them, and a discount. Those there are stay at the rate they have; no issued paper
   changes.
4. A customer can have a VAT number, premises a distance.
"""

import sqlalchemy as sa
from alembic import op

revision = "0014_prices_and_quotes"
down_revision = "0013_photos_and_rounds"

FROZEN = ("number", "customer_id", "premises_id", "agreement", "data", "file_name", "issued_on", "valid_until",
          "gross_pence", "sha256")  # fmt: skip


def upgrade() -> None:
    _widen_tables()
    _make_price_tables()
    _make_quotes()
    _make_invoice_visits()
    _lock_quotes()


def _widen_tables() -> None:
    def words(name: str, usual: str = "") -> "sa.Column[str]":
        return sa.Column(name, sa.String(), nullable=False, server_default=sa.text(f"'{usual}'"))

    def pence(name: str) -> "sa.Column[int]":
        return sa.Column(name, sa.Integer(), nullable=False, server_default=sa.text("0"))

    op.add_column("price_agreements", sa.Column("valid_until", sa.Date(), nullable=True))
    amounts = [pence(f"{name}_pence") for name in ("visit", "travel", "travel_rate")]
    for column in (*amounts, words("travel_unit", "mile"), words("discount"), words("discount_reason")):
        op.add_column("price_agreements", column)
    op.add_column("firms", sa.Column("quote_prefix", sa.String(), nullable=False, server_default="Q"))
    op.add_column("firms", sa.Column("reverse_charge", sa.Boolean(), nullable=False, server_default=sa.false()))
    op.add_column("customers", words("vat_number"))
    op.add_column("premises", sa.Column("miles", sa.String(), nullable=True))
    op.add_column("invoices", words("discount"))
    op.add_column("invoices", words("discount_reason"))
    op.add_column("invoice_lines", sa.Column("visit_id", sa.Integer(), nullable=True))
    op.add_column("invoice_lines", words("treatment", "standard"))
    op.add_column("invoice_lines", words("discount"))


def _make_price_tables() -> None:
    op.create_table(
        "price_steps",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("agreement_id", sa.Integer(), nullable=False),
        sa.Column("equipment_type_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("from_item", sa.Integer(), nullable=False),
        sa.Column("pence", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["agreement_id"], ["price_agreements.id"], name="fk_price_steps_agreement_id"),
        sa.ForeignKeyConstraint(["equipment_type_id"], ["equipment_types.id"], name="fk_price_steps_equipment_type_id"),
        sa.PrimaryKeyConstraint("id", name="pk_price_steps"),
        sqlite_strict=True,
    )
    op.create_index("ix_price_steps_agreement_id", "price_steps", ["agreement_id"])
    op.create_table(
        "price_extras",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("agreement_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("pence", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["agreement_id"], ["price_agreements.id"], name="fk_price_extras_agreement_id"),
        sa.PrimaryKeyConstraint("id", name="pk_price_extras"),
        sqlite_strict=True,
    )
    op.create_index("ix_price_extras_agreement_id", "price_extras", ["agreement_id"])


def _make_quotes() -> None:
    op.create_table(
        "quotes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(), nullable=True),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("premises_id", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("counts", sa.JSON(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("valid_days", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("issued_on", sa.Date(), nullable=True),
        sa.Column("valid_until", sa.Date(), nullable=True),
        sa.Column("issued_by_id", sa.Integer(), nullable=True),
        sa.Column("answer", sa.String(), nullable=False),
        sa.Column("answered_on", sa.Date(), nullable=True),
        sa.Column("answered_by", sa.String(), nullable=False),
        sa.Column("visit_id", sa.Integer(), nullable=True),
        sa.Column("agreement", sa.JSON(), nullable=True),
        sa.Column("net_pence", sa.Integer(), nullable=False),
        sa.Column("vat_pence", sa.Integer(), nullable=False),
        sa.Column("gross_pence", sa.Integer(), nullable=False),
        sa.Column("data", sa.JSON(), nullable=True),
        sa.Column("file_name", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["customer_id"], ["customers.id"], name="fk_quotes_customer_id"),
        sa.ForeignKeyConstraint(["premises_id"], ["premises.id"], name="fk_quotes_premises_id"),
        sa.ForeignKeyConstraint(["issued_by_id"], ["people.id"], name="fk_quotes_issued_by_id"),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.id"], name="fk_quotes_visit_id"),
        sa.PrimaryKeyConstraint("id", name="pk_quotes"),
        sa.UniqueConstraint("number", name="uq_quotes_number"),
        sa.UniqueConstraint("visit_id", name="uq_quotes_visit_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_quotes_customer_id", "quotes", ["customer_id"])
    op.create_index("ix_quotes_premises_id", "quotes", ["premises_id"])


def _make_invoice_visits() -> None:
    op.create_table(
        "invoice_visits",
        sa.Column("visit_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("invoice_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.id"], name="fk_invoice_visits_visit_id"),
        sa.ForeignKeyConstraint(["invoice_id"], ["invoices.id"], name="fk_invoice_visits_invoice_id"),
        sa.PrimaryKeyConstraint("visit_id", name="pk_invoice_visits"),
        sqlite_strict=True,
    )
    op.create_index("ix_invoice_visits_invoice_id", "invoice_visits", ["invoice_id"])
    op.execute(
        "INSERT INTO invoice_visits (visit_id, invoice_id) SELECT visit_id, MIN(id) FROM invoices GROUP BY visit_id"
    )
    # The lines of issued invoices are locked and stay as they are; without a visit of their own they are of the first.
    drafts = "invoice_id IN (SELECT id FROM invoices WHERE state = 'draft')"
    visit = "(SELECT visit_id FROM invoices WHERE invoices.id = invoice_id)"
    op.execute(f"UPDATE invoice_lines SET visit_id = {visit} WHERE {drafts}")
    op.execute(f"UPDATE invoice_lines SET treatment = 'outside' WHERE vat_category = 'O' AND {drafts}")


def _lock_quotes() -> None:
    differs = "IS NOT" if op.get_bind().dialect.name == "sqlite" else "IS DISTINCT FROM"
    changed = " OR ".join(f"CAST(NEW.{name} AS TEXT) {differs} CAST(OLD.{name} AS TEXT)" for name in FROZEN)
    when = f"OLD.state = 'issued' AND (NEW.state <> 'issued' OR {changed})"
    if op.get_bind().dialect.name == "sqlite":
        op.execute(
            f"CREATE TRIGGER quotes_keep_update BEFORE UPDATE ON quotes WHEN {when} "
            "BEGIN SELECT RAISE(ABORT, 'an issued paper is frozen'); END"
        )
        op.execute(
            "CREATE TRIGGER quotes_keep_delete BEFORE DELETE ON quotes WHEN OLD.number IS NOT NULL "
            "BEGIN SELECT RAISE(ABORT, 'a numbered paper stays in its series'); END"
        )
        return
    op.execute(
        f"CREATE TRIGGER quotes_keep_update BEFORE UPDATE ON quotes FOR EACH ROW WHEN ({when}) "
        "EXECUTE FUNCTION ohmstead_refuse('an issued paper is frozen')"
    )
    op.execute(
        "CREATE TRIGGER quotes_keep_delete BEFORE DELETE ON quotes FOR EACH ROW WHEN (OLD.number IS NOT NULL) "
        "EXECUTE FUNCTION ohmstead_refuse('a numbered paper stays in its series')"
    )
