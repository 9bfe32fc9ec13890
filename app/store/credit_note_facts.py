"""Facts for a credit note: what is left to credit of an invoice, and everything the note says."""

from datetime import date

from sqlalchemy.orm import Session

from app.rules.credit_notes import (
    CreditablePart,
    CreditLine,
    CreditNoteFacts,
    list_creditable_parts,
    total_credit,
    total_left,
)
from app.rules.money import convert_from_pence
from app.store.credit_notes import list_credit_lines_of
from app.store.firms import get_firm
from app.store.invoice_facts import facts_for_invoice
from app.store.invoices import InvoiceRow


def list_parts_of_invoice(session: Session, row: InvoiceRow) -> tuple[CreditablePart, ...]:
    """The lines, allowances and charges of an issued invoice with what earlier credit notes took of them."""
    facts = facts_for_invoice(session, row, row.issued_on or row.tax_point)
    earlier = [
        (line.place, line.quantity, convert_from_pence(line.net_pence))
        for line in list_credit_lines_of(session, row.id)
    ]
    return list_creditable_parts(facts.lines, facts.adjustments, earlier)


def facts_for_credit_note(
    session: Session,
    row: InvoiceRow,
    parts: tuple[CreditablePart, ...],
    lines: tuple[CreditLine, ...],
    *,
    number: str,
    reason: str,
    today: date,
) -> CreditNoteFacts:
    """Everything a credit note for these lines of an issued invoice says.

    The names and the VAT number are those that stand on the invoice, whatever changed since; the letterhead is today's.
    """
    said = row.data or {}
    invoice = facts_for_invoice(session, row, today)
    totals = total_credit(parts, lines)
    return CreditNoteFacts(
        number=number,
        firm=get_firm(session).facts,
        customer=invoice.customer,
        issued_on=today,
        invoice_number=row.number or "",
        invoice_issued_on=row.issued_on or today,
        tax_point=row.tax_point,
        reason=reason,
        lines=lines,
        totals=totals,
        left_to_pay=max(convert_from_pence(row.owed_pence) - totals.gross, convert_from_pence(0)),
        registered=bool(said.get("registered", row.vat_pence)),
        vat_number=dict(said.get("particulars", [])).get("VAT number", ""),
        whole=not any(part.credited for part in parts) and totals.gross == total_left(parts),
        premises=invoice.premises,
        customer_reference=row.reference,
    )
