"""Price agreements: the firm's own list, and what is agreed with one customer."""

from datetime import date

from app.actions.deeds import Deed, say_day
from app.rules.equipment import Kind
from app.rules.verdicts import Mistakes
from app.store.customers import get_customer
from app.store.database import Missing
from app.store.prices import KindPriceRow, PriceAgreementRow, get_price_agreement

PENCE_MOST = 10_000_000


def agree_prices(
    deed: Deed,
    customer_id: int | None,
    valid_from: date,
    item_pence: int,
    call_out_pence: int = 0,
    minimum_pence: int = 0,
    kinds: dict[Kind, int] | None = None,
) -> PriceAgreementRow:
    """Agree prices from a day on; None for the customer means the firm's own list. Raises Mistakes.

    Amounts are in pence without VAT. An earlier agreement stays for the days before.
    """
    kinds = kinds or {}
    amounts = {"item": item_pence, "call_out": call_out_pence, "minimum": minimum_pence} | {
        f"kind_{kind.value}": pence for kind, pence in kinds.items()
    }
    if mistakes := {
        name: "Give an amount from £0 to £100,000." for name, pence in amounts.items() if not 0 <= pence <= PENCE_MOST
    }:
        raise Mistakes(mistakes)
    name = get_customer(deed.session, customer_id).name if customer_id else "the firm's own list"
    row = PriceAgreementRow(
        customer_id=customer_id,
        valid_from=valid_from,
        item_pence=item_pence,
        call_out_pence=call_out_pence,
        minimum_pence=minimum_pence,
    )
    row.kinds = [KindPriceRow(kind=kind.value, pence=pence) for kind, pence in kinds.items()]
    deed.session.add(row)
    deed.session.flush()
    subject = ("customer", customer_id) if customer_id else ("firm", 1)
    deed.note(subject[0], subject[1], f"Agreed prices from {say_day(valid_from)}: {name}.")
    return row


def drop_prices(deed: Deed, agreement_id: int, customer_id: int | None) -> None:
    """Take back an agreement of a customer, or with None of the firm's own list. Drafts already made keep theirs."""
    row = get_price_agreement(deed.session, agreement_id)
    if row.customer_id != customer_id:
        raise Missing("price agreement")
    deed.session.delete(row)
    subject = ("customer", customer_id) if customer_id else ("firm", 1)
    deed.note(subject[0], subject[1], f"Took back the prices from {say_day(row.valid_from)}.")
