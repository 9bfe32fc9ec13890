"""The sales records of a period for the accountant, one for each paper and VAT rate, from what the papers say."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session, contains_eager

from app.rules.money import VatCategory
from app.rules.vat_records import Paper, VatRecord
from app.store.credit_notes import CreditNoteRow
from app.store.customers import CustomerRow
from app.store.invoice_facts import list_vat_groups
from app.store.invoices import InvoiceRow


def list_vat_records(session: Session, starts_on: date, ends_on: date) -> list[VatRecord]:
    """Records whose paper counts in the period, both days included: by day, then by number."""
    records = [*_invoices(session, starts_on, ends_on), *_credit_notes(session, starts_on, ends_on)]
    return sorted(records, key=lambda each: (each.counts_on, each.number, -(each.rate or 0)))


def _invoices(session: Session, starts_on: date, ends_on: date) -> Iterator[VatRecord]:
    query = (
        select(InvoiceRow)
        .join(InvoiceRow.customer)
        .where(InvoiceRow.state != "draft", InvoiceRow.tax_point >= starts_on, InvoiceRow.tax_point <= ends_on)
        .options(contains_eager(InvoiceRow.customer))
    )
    for row in session.scalars(query):
        for group in list_vat_groups(session, row):
            yield VatRecord(
                Paper.INVOICE,
                row.number or "",
                row.issued_on or row.tax_point,
                row.tax_point,
                row.customer.name,
                row.customer_id,
                group.category,
                group.rate,
                group.taxable,
                group.tax,
                href=f"/invoices/{row.id}",
            )


def _credit_notes(session: Session, starts_on: date, ends_on: date) -> Iterator[VatRecord]:
    query = (
        select(CreditNoteRow, InvoiceRow.tax_point, CustomerRow.name)
        .join(InvoiceRow, InvoiceRow.id == CreditNoteRow.invoice_id)
        .join(CustomerRow, CustomerRow.id == CreditNoteRow.customer_id)
        .where(CreditNoteRow.issued_on >= starts_on, CreditNoteRow.issued_on <= ends_on)
    )
    for row, tax_point, customer in session.execute(query):
        for group in row.data["vat"]:
            yield VatRecord(
                Paper.CREDIT_NOTE,
                row.number,
                row.issued_on,
                tax_point,
                customer,
                row.customer_id,
                VatCategory(group["category"]),
                None if group["rate"] is None else Decimal(group["rate"]),
                -Decimal(group["taxable"]),
                -Decimal(group["tax"]),
                corrects=row.data["corrects"]["number"],
                href=f"/credit-notes/{row.id}",
            )
