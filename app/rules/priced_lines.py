"""How work becomes the lines of a draft or a quote: what is priced, and what each line rests on."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum

from app.rules.discounts import Discount, list_line_allowances
from app.rules.equipment import Kind
from app.rules.money import ZERO, Adjustment, Line, Vat, total_line
from app.rules.prices import Band, PriceAgreement, UsedExtra, VisitItem, list_bands, total_distance


class Basis(StrEnum):
    """What a line charges for."""

    ITEMS = "items"
    VISIT = "visit"
    CALL_OUT = "call-out"
    TRAVEL = "travel"
    MINIMUM = "minimum"
    EXTRA = "extra"


@dataclass(frozen=True)
class InvoiceLine:
    """One line. price in pounds for base_quantity; item_numbers, kind and visit_id say what it rests on.

    supplied_on: the day that work was finished, where it is not that of the whole paper.
    """

    text: str
    quantity: Decimal
    price: Decimal
    vat: Vat
    unit: str = ""
    base_quantity: Decimal = Decimal(1)
    adjustments: tuple[Adjustment, ...] = ()
    basis: Basis = Basis.EXTRA
    kind: Kind | None = None
    item_numbers: tuple[str, ...] = ()
    visit_id: int | None = None
    supplied_on: date | None = None

    @property
    def priced(self) -> Line:
        return Line(self.quantity, self.price, self.vat, self.base_quantity, self.adjustments)


_KIND_WORDS = {
    Kind.APPLIANCE: "appliance",
    Kind.EXTENSION_LEAD: "extension lead",
    Kind.MULTIWAY_LEAD: "multiway lead",
    Kind.DETACHABLE_CORD: "detachable cord",
    Kind.RCD_LEAD: "lead with RCD",
    Kind.PORTABLE_RCD: "portable RCD",
    Kind.MICROWAVE_OVEN: "microwave oven",
    Kind.CHARGER: "charger",
    Kind.POWER_SUPPLY: "power supply",
    Kind.THREE_PHASE_LEAD: "three-phase lead",
}


def list_visit_lines(
    agreement: PriceAgreement,
    items: Sequence[VisitItem],
    vat: Vat,
    *,
    what: str = "Inspection and test",
    miles: Decimal | None = None,
    extras: Sequence[UsedExtra] = (),
) -> tuple[InvoiceLine, ...]:
    """List the lines of a visit: one a priced group and price, what comes once, the top-up to the minimum, travel,
    extras.

    Each line carries the numbers of the items it charges for. Items that were not tested cost nothing. vat: as it
    holds at the tax point; OUTSIDE_SCOPE for a firm that is not registered. miles: there and back, for travel by
    distance. An extra that the agreement does not name costs nothing until somebody gives its price.
    """
    lines = [_band_line(band, vat, what) for band in list_bands(agreement, items)]
    for price, text, basis in (
        (agreement.visit_price, f"{what}, price of a visit", Basis.VISIT),
        (agreement.call_out, "Call-out", Basis.CALL_OUT),
    ):
        if price:
            lines.append(InvoiceLine(text, Decimal(1), price, vat, "visit", basis=basis))
    so_far = sum((total_line(line.priced) for line in lines), ZERO)
    if agreement.minimum_charge is not None and so_far < agreement.minimum_charge:
        text = f"Up to the agreed minimum of £{agreement.minimum_charge:,.2f} a visit"
        top_up = agreement.minimum_charge - so_far
        lines.append(InvoiceLine(text, Decimal(1), top_up, vat, "visit", basis=Basis.MINIMUM))
    if agreement.travel:
        lines.append(InvoiceLine("Travel", Decimal(1), agreement.travel, vat, "visit", basis=Basis.TRAVEL))
    if agreement.travel_rate and miles:
        far, unit = total_distance(miles, agreement.travel_unit), agreement.travel_unit
        word = unit.word if far == 1 else unit.many
        lines.append(InvoiceLine("Travel", far, agreement.travel_rate, vat, word, basis=Basis.TRAVEL))
    named = {extra.name.casefold(): extra for extra in agreement.extras}
    for used in extras:
        extra = named.get(used.name.casefold())
        price, unit_word = (extra.price, extra.unit) if extra else (ZERO, "")
        lines.append(
            InvoiceLine(
                extra.name if extra else used.name, used.quantity, price, vat, unit_word, item_numbers=used.item_numbers
            )
        )
    return tuple(lines)


def describe_group(kind: Kind | None, type_name: str) -> str:
    """Name the items that share a price; empty text for all without a price of their own."""
    return type_name or (_KIND_WORDS[kind] if kind else "")


def list_discounted(lines: Sequence[InvoiceLine], discount: Discount) -> tuple[InvoiceLine, ...]:
    """List the same lines with a percentage off each, or with an amount off as a line of its own below them."""
    if discount.percent is not None:
        allowed = [(line, list_line_allowances(discount, line.quantity, line.price)) for line in lines]
        return tuple(replace(line, adjustments=line.adjustments + each) for line, each in allowed)
    if not lines:
        return ()
    off = InvoiceLine(discount.word, Decimal(-1), discount.amount or ZERO, lines[0].vat, "", basis=Basis.EXTRA)
    return (*lines, off)


def _band_line(band: Band, vat: Vat, what: str) -> InvoiceLine:
    group = describe_group(band.kind, band.type_name)
    text = f"{what}: {group}" if group else what
    if band.many and band.from_item > 1:
        text += f", from item {band.from_item:,}"
    count, unit = Decimal(band.count), "item" if band.count == 1 else "items"
    return InvoiceLine(
        text, count, band.price, vat, unit, basis=Basis.ITEMS, kind=band.kind, item_numbers=band.item_numbers
    )
