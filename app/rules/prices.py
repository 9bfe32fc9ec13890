"""What work costs: a price agreement with its prices by kind, equipment type and number of items, what comes once a
visit, travel, named extras and a discount. Amounts are pounds without VAT.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Any

from app.rules.discounts import Discount, parse_discount
from app.rules.equipment import Kind

KM_A_MILE = Decimal("1.609344")  # exact: the international yard and pound agreement of 1959


class TravelUnit(StrEnum):
    MILE = "mile"
    KILOMETRE = "km"

    @property
    def word(self) -> str:
        return self.value

    @property
    def many(self) -> str:
        return "miles" if self == TravelUnit.MILE else "km"


@dataclass(frozen=True)
class Rate:
    """The price of an item, from the from_item-th of its group on.

    The group is an equipment type by its name, or a kind, or with neither all items without a price of their own.
    """

    price: Decimal
    from_item: int = 1
    kind: Kind | None = None
    type_name: str = ""


@dataclass(frozen=True)
class Extra:
    """Something done on top, named by the firm: a fuse changed, an hour of repair. unit: one of what."""

    name: str
    price: Decimal
    unit: str = ""


@dataclass(frozen=True)
class UsedExtra:
    """An extra that was needed, how often, and for which items."""

    name: str
    quantity: Decimal
    item_numbers: tuple[str, ...] = ()


@dataclass(frozen=True)
class PriceAgreement:
    """What a customer pays. A kind without its own price costs the fallback.

    minimum_charge: the least that items, visit price and call-out of one visit come to. call_out, visit_price and
    travel: once a visit. travel_rate: for each travel_unit, there and back. None: not agreed.
    rates: prices by equipment type, and prices from a certain number of items on.
    """

    fallback_price: Decimal
    price_by_kind: Mapping[Kind, Decimal] = field(default_factory=dict)
    minimum_charge: Decimal | None = None
    call_out: Decimal | None = None
    rates: tuple[Rate, ...] = ()
    visit_price: Decimal | None = None
    travel: Decimal | None = None
    travel_rate: Decimal | None = None
    travel_unit: TravelUnit = TravelUnit.MILE
    extras: tuple[Extra, ...] = ()
    discount: Discount | None = None


@dataclass(frozen=True)
class VisitItem:
    """An item of a visit as the price sees it. charged False: not tested, so it costs nothing.

    number is empty for an item that is only reckoned with, as in a quote.
    """

    number: str
    kind: Kind
    charged: bool = True
    type_name: str = ""


@dataclass(frozen=True)
class Band:
    """Items of one group that cost the same. many: the group has further prices, so the line says which this is."""

    kind: Kind | None
    type_name: str
    from_item: int
    price: Decimal
    count: int
    item_numbers: tuple[str, ...]
    many: bool


def list_bands(agreement: PriceAgreement, items: Sequence[VisitItem]) -> tuple[Band, ...]:
    """List what each item costs, items of one price drawn together; untested ones cost nothing and are left out."""
    ladders = _ladders(agreement)
    groups: dict[tuple[Kind | None, str], list[str]] = {key: [] for key in ladders}
    for item in items:
        if item.charged:
            own = ((None, item.type_name),) if item.type_name else ()
            keys = (*own, (item.kind, ""), (None, ""))
            groups[next(key for key in keys if key in ladders)].append(item.number)
    bands = []
    for (kind, type_name), numbers in groups.items():
        ladder = ladders[kind, type_name]
        for place, (start, price) in enumerate(ladder):
            end = ladder[place + 1][0] - 1 if place + 1 < len(ladder) else len(numbers)
            those = numbers[start - 1 : end]
            if those:
                named = tuple(number for number in those if number)
                bands.append(Band(kind, type_name, start, price, len(those), named, len(ladder) > 1))
    return tuple(bands)


def total_distance(miles: Decimal, unit: TravelUnit) -> Decimal:
    """Give a distance in the unit that travel is charged by, to a tenth."""
    distance = miles if unit == TravelUnit.MILE else miles * KM_A_MILE
    return distance.quantize(Decimal("0.1"))


def _ladders(agreement: PriceAgreement) -> dict[tuple[Kind | None, str], list[tuple[int, Decimal]]]:
    """For each group the numbers of items from which a price holds, the first from 1."""
    ladders: dict[tuple[Kind | None, str], dict[int, Decimal]] = {(None, ""): {1: agreement.fallback_price}}
    for kind, price in agreement.price_by_kind.items():
        ladders[kind, ""] = {1: price}
    for rate in agreement.rates:
        key = (None, rate.type_name) if rate.type_name else (rate.kind, "")
        ladders.setdefault(key, {1: agreement.fallback_price})[rate.from_item] = rate.price
    return {key: sorted(steps.items()) for key, steps in ladders.items()}


def convert_agreement(agreement: PriceAgreement) -> dict[str, Any]:
    """Convert an agreement to plain values that can be kept as JSON; parse_agreement reads them back."""
    optional = ("minimum_charge", "call_out", "visit_price", "travel", "travel_rate")
    told: dict[str, Any] = {"fallback_price": str(agreement.fallback_price), "travel_unit": agreement.travel_unit.value}
    told |= {name: str(value) for name in optional if (value := getattr(agreement, name)) is not None}
    told["kinds"] = {kind.value: str(price) for kind, price in agreement.price_by_kind.items()}
    told["rates"] = [
        {
            "price": str(rate.price),
            "from_item": rate.from_item,
            "kind": rate.kind.value if rate.kind else "",
            "type_name": rate.type_name,
        }
        for rate in agreement.rates
    ]
    told["extras"] = [{"name": each.name, "price": str(each.price), "unit": each.unit} for each in agreement.extras]
    if agreement.discount:
        told |= {"discount": agreement.discount.text, "discount_reason": agreement.discount.reason}
    return told


def parse_agreement(told: Mapping[str, Any]) -> PriceAgreement:
    """Read an agreement from what convert_agreement gave."""

    def amount(name: str) -> Decimal | None:
        return Decimal(told[name]) if name in told else None

    return PriceAgreement(
        Decimal(told["fallback_price"]),
        {Kind(kind): Decimal(price) for kind, price in told["kinds"].items()},
        amount("minimum_charge"),
        amount("call_out"),
        tuple(
            Rate(
                Decimal(each["price"]),
                each["from_item"],
                Kind(each["kind"]) if each["kind"] else None,
                each["type_name"],
            )
            for each in told["rates"]
        ),
        amount("visit_price"),
        amount("travel"),
        amount("travel_rate"),
        TravelUnit(told["travel_unit"]),
        tuple(Extra(each["name"], Decimal(each["price"]), each["unit"]) for each in told["extras"]),
        parse_discount(told.get("discount", ""), told.get("discount_reason", "")),
    )
