"""Everything a quote says, as data: what the work would come to, at which prices, and until when that holds. It charges
nothing, and says so.
"""

from typing import Any

from app.documents.letterhead import letterhead_from
from app.documents.typesetting import count_from, day_from, money_from, number_from
from app.rules.discounts import Discount
from app.rules.money import Adjustment, Totals, total_line
from app.rules.priced_lines import Basis, InvoiceLine, describe_group
from app.rules.prices import PriceAgreement
from app.rules.quotes import QuoteFacts, total_quote


def quote_from(facts: QuoteFacts) -> dict[str, Any]:
    """Give all that the quote says; every value can be kept as JSON."""
    registered = facts.firm.vat_registered
    totals = total_quote(facts)
    return {
        "paper": "quote",
        "title": "Quote",
        "number": facts.number,
        "issued_on": facts.issued_on.isoformat(),
        "letterhead": letterhead_from(facts.firm),
        "registered": registered,
        "customer": {
            "name": facts.customer.name,
            "address": [line for line in facts.customer.address if line.strip()],
            "contact": facts.customer.contact,
        },
        "premises": [line for line in (facts.premises.name, *facts.premises.address) if line.strip()],
        "particulars": [
            ["Date", day_from(facts.issued_on)],
            ["Valid until", day_from(facts.valid_until)],
            ["Items", count_from(facts.item_count, "item", "items")],
        ],
        "work": "Inspection and test of electrical equipment in service",
        "lines": [_line(line) for line in facts.lines],
        "adjustments": [_adjustment(each) for each in facts.adjustments],
        "sums": _sums(totals, registered),
        "totals": {"BT-109": str(totals.net), "BT-110": str(totals.vat), "BT-112": str(totals.gross)},
        "prices": _prices(facts.agreement),
        "extras": [[each.name, _each(each.unit, money_from(each.price))] for each in facts.agreement.extras],
        "says": _says(facts, registered),
        "note": facts.note,
    }


def _line(line: InvoiceLine) -> dict[str, Any]:
    return {
        "text": line.text,
        "quantity": number_from(line.quantity),
        "unit": line.unit,
        "price": money_from(line.price),
        "net": money_from(total_line(line.priced)),
    }


def _adjustment(adjustment: Adjustment) -> dict[str, str]:
    return {"text": adjustment.reason, "net": money_from(-adjustment.amount)}


def _sums(totals: Totals, registered: bool) -> list[list[str]]:
    if not registered:
        return [["Together", money_from(totals.gross)]]
    return [
        ["Total without VAT", money_from(totals.net)],
        ["VAT", money_from(totals.vat)],
        ["Total with VAT", money_from(totals.gross)],
    ]


def _prices(agreement: PriceAgreement) -> list[list[str]]:
    """The prices that later items and visits would be charged at, in words."""
    prices = [["One item", money_from(agreement.fallback_price)]]
    for kind, price in agreement.price_by_kind.items():
        prices.append([_capital(describe_group(kind, "")), money_from(price)])
    for rate in agreement.rates:
        group = _capital(describe_group(rate.kind, rate.type_name)) or "Items"
        start = f", from item {rate.from_item:,}" if rate.from_item > 1 else ""
        prices.append([group + start, money_from(rate.price)])
    for name, once in (
        ("Call-out", agreement.call_out),
        ("Price of a visit", agreement.visit_price),
        ("Travel", agreement.travel),
        ("Least for a visit", agreement.minimum_charge),
    ):
        if once:
            prices.append([name, money_from(once)])
    if agreement.travel_rate:
        prices.append(["Travel by distance", _each(agreement.travel_unit.word, money_from(agreement.travel_rate))])
    if agreement.discount:
        prices.append(["Discount on the whole", _off(agreement.discount)])
    return prices


def _says(facts: QuoteFacts, registered: bool) -> list[str]:
    counted = count_from(facts.item_count, "item", "items")
    what = f"The number of items is an estimate: {counted}."
    if facts.due_until is not None:
        what = (
            f"The number of items is what falls due by {day_from(facts.due_until)} or waits for a test, by the "
            f"register on {day_from(facts.issued_on)}: {counted}."
        )
    elif facts.from_register:
        what = f"The number of items is that of the register on {day_from(facts.issued_on)}: {counted}."
    priced = any(line.basis == Basis.ITEMS for line in facts.lines)
    if priced:
        what += (
            " What is tested is counted and charged at the prices below; an item that cannot be tested costs nothing."
        )
    kept = f"The prices hold for the visit booked from this quote when it is accepted by {day_from(facts.valid_until)}."
    no_invoice = "This is a quote, not a VAT invoice." if registered else "This is a quote, not an invoice."
    return [what, kept, f"{no_invoice} Nothing is to be paid on it."]


def _off(discount: Discount) -> str:
    if discount.percent is not None:
        return f"{number_from(discount.percent)}%"
    return money_from(discount.amount) if discount.amount is not None else ""


def _each(unit: str, price: str) -> str:
    article = "an" if unit.startswith(("hour", "a", "e", "i", "o", "u")) else "a"
    return f"{price} {article} {unit}" if unit else price


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
