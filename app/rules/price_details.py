"""Prices as the office types them, in pence, with what is wrong with them; and the agreement they make."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from app.rules.discounts import parse_discount
from app.rules.equipment import Kind
from app.rules.money import convert_from_pence
from app.rules.prices import Extra, PriceAgreement, Rate, TravelUnit

PENCE_MOST = 10_000_000
FROM_MOST = 100_000
ROWS_MOST = 40


@dataclass(frozen=True)
class Step:
    """The price from the from_item-th item on, of an equipment type, a kind, or all without a price of their own."""

    pence: int
    from_item: int = 1
    kind: Kind | None = None
    equipment_type_id: int | None = None


@dataclass(frozen=True)
class NamedExtra:
    """Something done on top; unit: one of what."""

    name: str
    pence: int
    unit: str = ""


@dataclass(frozen=True)
class MorePrices:
    """What an agreement can hold beyond the price of an item, the call-out and the least for a visit. 0: not agreed."""

    valid_until: date | None = None
    visit_pence: int = 0
    travel_pence: int = 0
    travel_rate_pence: int = 0
    travel_unit: TravelUnit = TravelUnit.MILE
    discount: str = ""
    discount_reason: str = ""
    steps: tuple[Step, ...] = ()
    extras: tuple[NamedExtra, ...] = ()


@dataclass(frozen=True)
class PriceDetails:
    """Everything that is agreed, as typed."""

    valid_from: date
    item_pence: int
    call_out_pence: int = 0
    minimum_pence: int = 0
    kinds: Mapping[Kind, int] = field(default_factory=dict)
    more: MorePrices = MorePrices()


def check_prices(details: PriceDetails) -> dict[str, str]:
    """What is wrong, by the name of the field; rows of steps and extras are counted from 0."""
    more = details.more
    amounts = {
        "item": details.item_pence,
        "call_out": details.call_out_pence,
        "minimum": details.minimum_pence,
        "visit": more.visit_pence,
        "travel": more.travel_pence,
        "travel_rate": more.travel_rate_pence,
        **{f"kind_{kind.value}": pence for kind, pence in details.kinds.items()},
        **{f"step_price_{place}": step.pence for place, step in enumerate(more.steps)},
        **{f"extra_price_{place}": extra.pence for place, extra in enumerate(more.extras)},
    }
    mistakes = {
        name: "Give an amount from £0 to £100,000." for name, pence in amounts.items() if not 0 <= pence <= PENCE_MOST
    }
    if more.valid_until is not None and more.valid_until < details.valid_from:
        mistakes["valid_until"] = "The last day cannot be before the first."
    try:
        parse_discount(more.discount)
    except ValueError as problem:
        mistakes["discount"] = str(problem)
    seen: set[tuple[Kind | None, int | None, int]] = set()
    for place, step in enumerate(more.steps):
        group = (step.kind, step.equipment_type_id, step.from_item)
        if not 1 <= step.from_item <= FROM_MOST:
            mistakes[f"step_from_{place}"] = f"Give the number of an item from 1 to {FROM_MOST:,}."
        elif step.from_item == 1 and step.kind is None and step.equipment_type_id is None:
            mistakes[f"step_from_{place}"] = "The price from item 1 on stands above. Give a later item."
        elif group in seen or (step.kind in details.kinds and step.from_item == 1):
            mistakes[f"step_from_{place}"] = "There is another price from this item on. Leave one out."
        seen.add(group)
    names = [extra.name.strip().casefold() for extra in more.extras]
    for place, name in enumerate(names):
        if not name:
            mistakes[f"extra_name_{place}"] = "Say what this price is for."
        elif name in names[:place]:
            mistakes[f"extra_name_{place}"] = "This extra has a price already."
    return mistakes


def convert_prices(details: PriceDetails, type_names: Mapping[int, str]) -> PriceAgreement:
    """Convert prices as typed to an agreement. type_names: the name of each equipment type by its id."""
    more = details.more

    def some(pence: int) -> Decimal | None:
        return convert_from_pence(pence) if pence else None

    return PriceAgreement(
        fallback_price=convert_from_pence(details.item_pence),
        price_by_kind={kind: convert_from_pence(pence) for kind, pence in details.kinds.items()},
        minimum_charge=some(details.minimum_pence),
        call_out=some(details.call_out_pence),
        rates=tuple(
            Rate(
                convert_from_pence(step.pence),
                step.from_item,
                step.kind,
                type_names.get(step.equipment_type_id or 0, ""),
            )
            for step in more.steps
        ),
        visit_price=some(more.visit_pence),
        travel=some(more.travel_pence),
        travel_rate=some(more.travel_rate_pence),
        travel_unit=more.travel_unit,
        extras=tuple(Extra(each.name, convert_from_pence(each.pence), each.unit) for each in more.extras),
        discount=parse_discount(more.discount, more.discount_reason),
    )
