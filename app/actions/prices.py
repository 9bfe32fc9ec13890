"""Price agreements: the firm's own list, and what is agreed with one customer."""

from datetime import date

from app.actions.deeds import Deed, say_day
from app.rules.discounts import parse_discount
from app.rules.equipment import Kind
from app.rules.price_details import MorePrices, PriceDetails, check_prices
from app.rules.verdicts import Mistakes
from app.store.customers import get_customer
from app.store.database import Missing
from app.store.equipment_types import get_equipment_type
from app.store.prices import KindPriceRow, PriceAgreementRow, PriceExtraRow, PriceStepRow, get_price_agreement


def agree_prices(
    deed: Deed,
    customer_id: int | None,
    valid_from: date,
    item_pence: int,
    call_out_pence: int = 0,
    minimum_pence: int = 0,
    kinds: dict[Kind, int] | None = None,
    more: MorePrices | None = None,
) -> PriceAgreementRow:
    """Agree prices from a day on; None for the customer means the firm's own list. Raises Mistakes.

    Amounts are in pence without VAT. An earlier agreement stays for the days before.
    """
    kinds, more = kinds or {}, more or MorePrices()
    details = PriceDetails(valid_from, item_pence, call_out_pence, minimum_pence, kinds, more)
    if mistakes := check_prices(details):
        raise Mistakes(mistakes)
    for step in more.steps:
        if step.equipment_type_id is not None:
            get_equipment_type(deed.session, step.equipment_type_id)
    name = get_customer(deed.session, customer_id).name if customer_id else "the firm's own list"
    discount = parse_discount(more.discount)
    row = PriceAgreementRow(
        customer_id=customer_id,
        valid_from=valid_from,
        valid_until=more.valid_until,
        item_pence=item_pence,
        call_out_pence=call_out_pence,
        minimum_pence=minimum_pence,
        visit_pence=more.visit_pence,
        travel_pence=more.travel_pence,
        travel_rate_pence=more.travel_rate_pence,
        travel_unit=more.travel_unit.value,
        discount=discount.text if discount else "",
        discount_reason=more.discount_reason.strip() if discount else "",
    )
    row.kinds = [KindPriceRow(kind=kind.value, pence=pence) for kind, pence in kinds.items()]
    row.steps = [
        PriceStepRow(
            kind=step.kind.value if step.kind else "",
            equipment_type_id=step.equipment_type_id,
            from_item=step.from_item,
            pence=step.pence,
        )
        for step in more.steps
    ]
    row.extras = [
        PriceExtraRow(name=each.name.strip(), unit=each.unit.strip(), pence=each.pence) for each in more.extras
    ]
    deed.session.add(row)
    deed.session.flush()
    subject = ("customer", customer_id) if customer_id else ("firm", 1)
    until = f" until {say_day(more.valid_until)}" if more.valid_until else ""
    deed.note(subject[0], subject[1], f"Agreed prices from {say_day(valid_from)}{until}: {name}.")
    return row


def end_prices(deed: Deed, agreement_id: int, customer_id: int | None, last_day: date) -> None:
    """Let an agreement end on a day; it stays for the visits up to then. Raises Mistakes."""
    row = get_price_agreement(deed.session, agreement_id)
    if row.customer_id != customer_id:
        raise Missing("price agreement")
    if last_day < row.valid_from:
        raise Mistakes({"last_day": "The last day cannot be before the first. Take the prices back instead."})
    row.valid_until = last_day
    subject = ("customer", customer_id) if customer_id else ("firm", 1)
    deed.note(subject[0], subject[1], f"Ended the prices from {say_day(row.valid_from)} on {say_day(last_day)}.")


def drop_prices(deed: Deed, agreement_id: int, customer_id: int | None) -> None:
    """Take back an agreement of a customer, or with None of the firm's own list. Drafts already made keep theirs."""
    row = get_price_agreement(deed.session, agreement_id)
    if row.customer_id != customer_id:
        raise Missing("price agreement")
    deed.session.delete(row)
    subject = ("customer", customer_id) if customer_id else ("firm", 1)
    deed.note(subject[0], subject[1], f"Took back the prices from {say_day(row.valid_from)}.")
