"""Drafting an invoice from one or several finished visits, and editing the draft until it is issued."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, check_version, say_day
from app.rules.discounts import Discount, parse_discount
from app.rules.equipment import Kind
from app.rules.invoices import Basis, InvoiceFacts, InvoiceLine, VisitItem, total_facts
from app.rules.money import OUTSIDE_SCOPE, Vat, convert_to_pence
from app.rules.priced_lines import list_discounted, list_visit_lines
from app.rules.prices import PriceAgreement, UsedExtra, parse_agreement
from app.rules.put_right_lines import OnSpot, list_used_names
from app.rules.remedies import Change
from app.rules.vat_rates import VatTreatment, number_vat_rate
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import VisitState
from app.store.firms import get_firm
from app.store.invoice_facts import facts_for_invoice
from app.store.invoices import (
    InvoiceLineRow,
    InvoiceRow,
    InvoiceVisitRow,
    find_invoice_of_visit,
    get_invoice,
)
from app.store.prices import find_price_agreement
from app.store.quotes import find_quote_of_visit
from app.store.readings import list_visit_items
from app.store.rounds import list_rounds_of
from app.store.visits import VisitRow, get_visit
from app.store.wanted_visits import find_repeat_of_visit

VISITS_MOST = 100


class DraftLine(NamedTuple):
    """A line as somebody typed it. price is in pounds without VAT; line_id names the stored line that it changes.

    treatment None: as the stored line has it, else the standard rate. discount: such as "10%" or "5.00".
    """

    text: str
    quantity: Decimal
    price: Decimal
    line_id: int | None = None
    treatment: VatTreatment | None = None
    discount: str = ""


def draft_invoice(deed: Deed, visit_id: int) -> InvoiceRow:
    """Make the draft of a finished visit from the prices that were agreed for it; one that exists is given back."""
    get_visit(deed.session, visit_id, locked=True)
    return find_invoice_of_visit(deed.session, visit_id) or draft_invoice_of_visits(deed, [visit_id])


def draft_invoice_of_visits(deed: Deed, visit_ids: Sequence[int]) -> InvoiceRow:
    """Make one draft for finished visits of one customer. Raises Mistakes; refuses a visit that has an invoice.

    Prices are those of the quote or the repeat agreement from which a visit was booked, else those of its day.
    """
    if not visit_ids:
        raise Mistakes({"visits": "Choose at least one visit."})
    if len(visit_ids) > VISITS_MOST:
        raise Mistakes({"visits": f"An invoice takes at most {VISITS_MOST} visits."})
    visits = [get_visit(deed.session, visit_id, locked=True) for visit_id in sorted(set(visit_ids))]
    if len({visit.customer_id for visit in visits}) > 1:
        raise Refused("An invoice goes to one customer; these visits are of different ones.")
    for visit in visits:
        if visit.state != VisitState.FINISHED:
            raise Refused("An invoice is drafted when the visit is finished; this one is " + visit.state + ".")
        if found := find_invoice_of_visit(deed.session, visit.id):
            raise Refused(f"The visit of {_day_of(visit)} is on invoice {found.number or 'draft'} already.")
    visits.sort(key=lambda visit: (visit.finished_on or visit.booked_on, visit.id))
    agreed = [_agreement_for(deed.session, visit) for visit in visits]
    row = InvoiceRow(
        customer=visits[0].customer,
        visit=visits[0],
        state="draft",
        tax_point=max(visit.finished_on or deed.today for visit in visits),
        visits=[InvoiceVisitRow(visit_id=visit.id, visit=visit) for visit in visits],
    )
    row.discount, row.discount_reason = _whole_discount(agreed)
    lines: list[InvoiceLineRow] = []
    for visit, agreement in zip(visits, agreed, strict=True):
        own = None if row.discount else agreement.discount
        lines += _lines_of_visit(deed, visit, agreement, own, named=len(visits) > 1)
    for position, line in enumerate(lines):
        line.position = position
    row.lines = lines
    _refresh(deed, row)
    deed.session.add(row)
    deed.session.flush()
    deed.note("invoice", row.id, f"Drafted the invoice for {say_visits(row)}.")
    return row


def change_draft(
    deed: Deed,
    invoice_id: int,
    lines: Sequence[DraftLine | tuple[str, Decimal, Decimal]],
    reference: str = "",
    version: int | None = None,
    discount: str | None = None,
    discount_reason: str = "",
) -> InvoiceRow:
    """Put these lines in a draft in place of its own. Raises Mistakes; refuses after issue.

    A line that names the stored line it changes, or has its words, keeps what that one rests on: items, unit, kind.
    discount: off the whole, as typed; None leaves it as it is.
    """
    row = _draft(deed, invoice_id, version)
    typed = [DraftLine(*line) for line in lines]
    firm = get_firm(deed.session)
    mistakes = _mistakes_of(typed, firm.reverse_charge and firm.vat_registered)
    kept = (row.discount, row.discount_reason)
    if discount is not None:
        try:
            whole = parse_discount(discount, discount_reason)
            kept = (whole.text, whole.reason.strip()) if whole else ("", "")
        except ValueError as problem:
            mistakes["discount"] = str(problem)
    if mistakes:
        raise Mistakes(mistakes)
    before = {line.id: line for line in row.lines}
    same_words = {line.description: line.id for line in row.lines}
    new = []
    for position, line in enumerate(typed):
        old = before.pop(line.line_id or same_words.get(line.text.strip(), 0), None)
        treatment = line.treatment or (VatTreatment(old.treatment) if old else VatTreatment.STANDARD)
        vat = number_vat_rate(treatment, row.tax_point) if firm.vat_registered else OUTSIDE_SCOPE
        off = parse_discount(line.discount)
        new.append(
            InvoiceLineRow(
                position=position,
                description=line.text.strip(),
                quantity=line.quantity,
                price=line.price,
                vat_category=vat.category.value,
                vat_rate=vat.rate,
                unit=old.unit if old else "",
                basis=old.basis if old else Basis.EXTRA.value,
                kind=old.kind if old else "",
                item_numbers=list(old.item_numbers) if old else [],
                visit_id=old.visit_id if old else row.visit_id,
                treatment=treatment.value,
                discount=off.text if off else "",
            )
        )
    row.lines = new
    row.reference = reference.strip()
    row.discount, row.discount_reason = kept
    _refresh(deed, row)
    deed.session.flush()
    deed.note("invoice", row.id, "Changed the draft.")
    return row


def discard_draft(deed: Deed, invoice_id: int, version: int | None = None) -> int:
    """Throw a draft away, so that it can be drafted anew; gives the id of its first visit. It has no number to lose."""
    row = _draft(deed, invoice_id, version)
    deed.session.delete(row)
    deed.note("invoice", invoice_id, f"Discarded the draft for {say_visits(row)}.")
    return row.visit_id


def say_visits(row: InvoiceRow) -> str:
    """The visits of an invoice as the journal says them: visit 7, or visits 7 and 9."""
    *most, last = [str(each.visit_id) for each in row.visits] or [str(row.visit_id)]
    return f"visits {', '.join(most)} and {last}" if most else f"visit {last}"


def total_draft(row: InvoiceRow, facts: InvoiceFacts) -> None:
    """Keep what an invoice comes to beside it, in pence."""
    totals = total_facts(facts)
    row.net_pence, row.vat_pence, row.gross_pence = (
        convert_to_pence(value) for value in (totals.net, totals.vat, totals.gross)
    )


def _refresh(deed: Deed, row: InvoiceRow) -> None:
    """Work out the rates of a draft as of today, and what it comes to."""
    with deed.session.no_autoflush:  # one change, one version
        facts = facts_for_invoice(deed.session, row, deed.today)
    for line, now in zip(row.lines, facts.lines, strict=True):
        line.vat_category, line.vat_rate = now.vat.category.value, now.vat.rate
    total_draft(row, facts)


def _agreement_for(session: Session, visit: VisitRow) -> PriceAgreement:
    quote = find_quote_of_visit(session, visit.id)
    if quote is not None and quote.agreement is not None:
        return parse_agreement(quote.agreement)
    repeat = find_repeat_of_visit(session, visit.id)
    if repeat is not None and repeat.prices is not None:
        return parse_agreement(repeat.prices)
    agreed = find_price_agreement(session, visit.customer_id, visit.booked_on)
    if agreed is None:
        raise Refused(
            "No prices are agreed for the day of this visit. The owner enters the firm's own prices, "
            "or prices are agreed with this customer."
        )
    return agreed.facts


def _whole_discount(agreed: Sequence[PriceAgreement]) -> tuple[str, str]:
    """The discount for the whole invoice: the percentage that all visits share, or what one visit alone has."""
    first = agreed[0].discount
    if first is None or any(agreement.discount != first for agreement in agreed):
        return "", ""
    return (first.text, first.reason) if first.percent is not None or len(agreed) == 1 else ("", "")


def _lines_of_visit(
    deed: Deed, visit: VisitRow, agreement: PriceAgreement, discount: Discount | None, named: bool
) -> list[InvoiceLineRow]:
    items = [
        VisitItem(
            row.item.number,
            Kind(row.kind),
            charged=not row.not_tested,
            type_name=row.item.equipment_type.name if row.item.equipment_type else "",
        )
        for row in list_visit_items(deed.session, visit.id)
    ]
    vat = _standard(deed, visit.finished_on or deed.today)
    done = [
        OnSpot(Change(earlier.change), earlier.put_right, number)
        for earlier, number in list_rounds_of(deed.session, [visit.id])
    ]
    extras = [UsedExtra(name, Decimal(len(numbers)), numbers) for name, numbers in list_used_names(done).items()]
    lines = list_visit_lines(agreement, items, vat, miles=visit.premises.miles, extras=extras)
    amount_off = discount if discount and discount.amount is not None else None
    if amount_off:
        lines = list_discounted(lines, amount_off)
    where = f"{visit.premises.name}, {_day_of(visit)}: " if named else ""
    treatment = VatTreatment.STANDARD if vat != OUTSIDE_SCOPE else VatTreatment.OUTSIDE
    percent_off = discount.text if discount and discount.percent is not None else ""
    return [_line_row(line, where, visit.id, treatment, percent_off) for line in lines]


def _line_row(line: InvoiceLine, where: str, visit_id: int, treatment: VatTreatment, discount: str) -> InvoiceLineRow:
    return InvoiceLineRow(
        position=0,
        description=where + line.text,
        quantity=line.quantity,
        price=line.price,
        vat_category=line.vat.category.value,
        vat_rate=line.vat.rate,
        unit=line.unit,
        basis=line.basis.value,
        kind=line.kind.value if line.kind else "",
        item_numbers=list(line.item_numbers),
        visit_id=visit_id,
        treatment=treatment.value,
        discount=discount,
    )


def _day_of(visit: VisitRow) -> str:
    return say_day(visit.finished_on or visit.booked_on)


def _standard(deed: Deed, tax_point: date) -> Vat:
    registered = get_firm(deed.session).vat_registered
    return number_vat_rate(VatTreatment.STANDARD, tax_point) if registered else OUTSIDE_SCOPE


def _draft(deed: Deed, invoice_id: int, version: int | None) -> InvoiceRow:
    row = get_invoice(deed.session, invoice_id, locked=True)
    if row.state != "draft":
        raise Refused(f"Invoice {row.number} is issued and does not change. A change needs a credit note.")
    check_version(row, version, "this draft")
    return row


def _mistakes_of(lines: Sequence[DraftLine], reverse_charge: bool) -> dict[str, str]:
    mistakes = {} if lines else {"": "An invoice needs at least one line."}
    for position, line in enumerate(lines):
        if not line.text.strip():
            mistakes[f"text_{position}"] = "Say what this line is for."
        if line.quantity == 0 or abs(line.quantity) > 100_000:
            mistakes[f"quantity_{position}"] = "Give a quantity other than 0, up to 100,000."
        if not 0 <= line.price <= 1_000_000:
            mistakes[f"price_{position}"] = (
                "Give a price from £0 to £1,000,000; take something off with a negative quantity."
            )
        if line.treatment == VatTreatment.REVERSE_CHARGE and not reverse_charge:
            mistakes[f"treatment_{position}"] = "The owner turns the reverse charge on in the settings first."
        try:
            parse_discount(line.discount)
        except ValueError as problem:
            mistakes[f"discount_{position}"] = str(problem)
    return mistakes
