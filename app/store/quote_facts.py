"""Facts for a quote: everything it says, from the rows of the draft, the register and the prices that hold."""

from datetime import date

from sqlalchemy.orm import Session

from app.rules.equipment import Kind
from app.rules.money import OUTSIDE_SCOPE
from app.rules.prices import VisitItem, parse_agreement
from app.rules.quotes import QuoteFacts, list_quote_lines, list_quoted_items, next_last_day
from app.rules.vat_rates import VatTreatment, number_vat_rate
from app.rules.verdicts import Refused
from app.store.firms import get_firm
from app.store.items import list_items_served
from app.store.paper_facts import facts_of_customer, facts_of_premises
from app.store.prices import find_price_agreement
from app.store.quotes import QuoteRow


def list_register_items(session: Session, premises_id: int, due_until: date | None = None) -> tuple[VisitItem, ...]:
    """The items on the register of premises that a visit serves, as the price sees them. due_until: as list_served."""
    rows = list_items_served(session, premises_id, due_until)
    return tuple(
        VisitItem(row.number, Kind(row.kind), type_name=row.equipment_type.name if row.equipment_type else "")
        for row in rows
    )


def facts_for_quote(session: Session, row: QuoteRow, today: date) -> QuoteFacts:
    """Everything the quote says; for a draft, what it would say if it were issued today.

    Refuses when no prices hold.
    """
    firm = get_firm(session)
    issued_on = row.issued_on or today
    if row.agreement is not None:
        agreement = parse_agreement(row.agreement)
    else:
        held = find_price_agreement(session, row.customer_id, issued_on)
        if held is None:
            raise Refused(
                "No prices hold today. The owner enters the firm's own prices, or prices are agreed with this customer."
            )
        agreement = held.facts
    known = () if row.counts else list_register_items(session, row.premises_id, row.due_until)
    items = list_quoted_items(row.counts) if row.counts else known
    vat = number_vat_rate(VatTreatment.STANDARD, issued_on) if firm.vat_registered else OUTSIDE_SCOPE
    return QuoteFacts(
        number=row.number or "",
        firm=firm.facts,
        customer=facts_of_customer(row.customer, row.premises),
        premises=facts_of_premises(row.premises),
        issued_on=issued_on,
        valid_until=row.valid_until or next_last_day(issued_on, row.valid_days),
        lines=list_quote_lines(agreement, items, vat, row.premises.miles),
        agreement=agreement,
        item_count=len(items),
        from_register=not row.counts,
        due_until=None if row.counts else row.due_until,
        note=row.note,
    )
