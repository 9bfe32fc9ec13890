"""The fields of the prices form: what was typed, what stands there at first, and what so many items would cost."""

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy.orm import Session

from app.rules.discounts import list_document_allowances
from app.rules.equipment import Kind
from app.rules.money import OUTSIDE_SCOPE, convert_to_pence, total_invoice, total_line
from app.rules.price_details import ROWS_MOST, MorePrices, NamedExtra, PriceDetails, Step, check_prices, convert_prices
from app.rules.priced_lines import list_visit_lines
from app.rules.prices import TravelUnit, VisitItem
from app.store.equipment_types import list_equipment_types
from app.store.prices import PriceAgreementRow
from app.web.fields import Form
from app.web.filters import show_money

EXAMPLE_USUAL = 42
EXAMPLE_MOST = 20_000
EXAMPLE_MILES = 20
_EMPTY_ROWS = 2
_AMOUNTS = ("call_out", "minimum", "visit", "travel", "travel_rate")


def new_prices(form: Form, today: date) -> tuple[PriceDetails, dict[str, list[int]]]:
    """The prices as typed, and the places on the form of the steps and extras that are filled in.

    What cannot be read is collected in the form.
    """
    valid_from = form.day("valid_from", needed="Say from which day these prices hold.")
    if not form.value("item").strip():
        form.blame("item", "Give the price of one item; 0 when items cost nothing.")
    amounts = {name: form.pence(name) for name in ("item", *_AMOUNTS)}
    kinds = {kind: form.pence(f"kind_{kind}") for kind in Kind if form.value(f"kind_{kind}").strip()}
    steps = _filled(form, "step_price", "step_price", "step_for")
    extras = _filled(form, "extra_price", "extra_price", "extra_name")
    more = MorePrices(
        valid_until=form.day("valid_until"),
        visit_pence=amounts["visit"],
        travel_pence=amounts["travel"],
        travel_rate_pence=amounts["travel_rate"],
        travel_unit=form.choice("travel_unit", TravelUnit, TravelUnit.MILE),
        discount=form.text("discount", 20),
        discount_reason=form.text("discount_reason", 100),
        steps=tuple(_step(form, place) for place in steps),
        extras=tuple(_extra(form, place) for place in extras),
    )
    details = PriceDetails(valid_from or today, amounts["item"], amounts["call_out"], amounts["minimum"], kinds, more)
    return details, {"step": steps, "extra": extras}


def show_prices_form(row: PriceAgreementRow | None, today: date) -> Form:
    """The prices that hold, as a start for the next ones."""
    if row is None:
        return Form.showing(valid_from=today, travel_unit=TravelUnit.MILE.value)
    values: dict[str, Any] = {f"kind_{price.kind}": _typed(price.pence) for price in row.kinds}
    values |= {name: _typed(pence) if (pence := getattr(row, f"{name}_pence")) else "" for name in _AMOUNTS}
    for place, step in enumerate(row.steps):
        group = f"type:{step.equipment_type_id}" if step.equipment_type_id else f"kind:{step.kind}" if step.kind else ""
        values |= {f"step_for_{place}": group, f"step_from_{place}": step.from_item}
        values[f"step_price_{place}"] = _typed(step.pence)
    for place, extra in enumerate(row.extras):
        values |= {f"extra_name_{place}": extra.name, f"extra_unit_{place}": extra.unit}
        values[f"extra_price_{place}"] = _typed(extra.pence)
    return Form.showing(
        valid_from=max(today, row.valid_from),
        item=_typed(row.item_pence),
        travel_unit=row.travel_unit,
        discount=row.discount,
        discount_reason=row.discount_reason,
        **values,
    )


def list_price_choices(session: Session) -> dict[str, list[tuple[str, str]]]:
    """What a step can be for, and the units of travel."""
    kinds = [(f"kind:{kind.value}", kind.word[0].upper() + kind.word[1:]) for kind in Kind]
    types = [(f"type:{row.id}", f"{row.name} (equipment type)") for row in list_equipment_types(session)]
    units = [(unit.value, f"a {unit.word}") for unit in TravelUnit]
    return {"groups": [("", "Items without a price of their own"), *kinds, *types], "units": units}


def list_price_places(form: Form) -> dict[str, range]:
    """The rows that the form shows: those filled in, and some empty ones after them."""
    used = {
        "steps": _filled(form, "step_price", "step_price", "step_for"),
        "extras": _filled(form, "extra_price", "extra_price", "extra_name"),
    }
    return {name: range(min(max(places, default=-1) + 1 + _EMPTY_ROWS, ROWS_MOST)) for name, places in used.items()}


def show_example(session: Session, form: Form, today: date) -> dict[str, Any]:
    """What so many items would cost at the prices in the form, line by line without VAT; a sentence where it cannot."""
    trial = Form(dict(form.values))
    count = trial.whole("example", 1, EXAMPLE_MOST) if trial.value("example").strip() else EXAMPLE_USUAL
    details, _ = new_prices(trial, today)
    if trial.mistakes or check_prices(details) or count is None:
        return {"count": count or EXAMPLE_USUAL, "lines": [], "total": 0, "sentence": _why(trial, details)}
    names = {row.id: row.name for row in list_equipment_types(session)}
    agreement = convert_prices(details, names)
    items = [VisitItem("", Kind.APPLIANCE)] * count
    lines = list_visit_lines(agreement, items, OUTSIDE_SCOPE, miles=Decimal(EXAMPLE_MILES))
    allowances = list_document_allowances(agreement.discount, [line.priced for line in lines])
    totals = total_invoice([line.priced for line in lines], allowances)
    told = [
        (line.text, line.quantity, line.unit, line.price, convert_to_pence(total_line(line.priced))) for line in lines
    ]
    off = [(each.reason, convert_to_pence(each.amount)) for each in allowances]
    return {"count": count, "lines": told, "off": off, "total": convert_to_pence(totals.net), "sentence": ""}


def list_at_places(messages: Mapping[str, str], places: Mapping[str, list[int]]) -> dict[str, str]:
    """Messages about rows, which are counted without the empty ones, under the names of the fields on the form."""
    named = {}
    for name, message in messages.items():
        field, _, count = name.rpartition("_")
        rows = places.get(field.split("_")[0], [])
        own = field.startswith(("step_", "extra_")) and count.isdigit() and int(count) < len(rows)
        named[f"{field}_{rows[int(count)]}" if own else name] = message
    return named


def _why(form: Form, details: PriceDetails) -> str:
    wrong = form.mistakes | check_prices(details)
    return next(iter(wrong.values()), "Give a number of items.")


def _filled(form: Form, numbered: str, *names: str) -> list[int]:
    """The places of the rows in which one of these fields is filled in."""
    found = {int(name.rsplit("_", 1)[1]) for name in form.values if re.fullmatch(rf"{numbered}_[0-9]{{1,2}}", name)}
    return [
        place for place in sorted(found)[:ROWS_MOST] if any(form.value(f"{name}_{place}").strip() for name in names)
    ]


def _step(form: Form, place: int) -> Step:
    group, _, which = form.value(f"step_for_{place}").partition(":")
    known = group in ("", "kind", "type")
    kind = Kind(which) if group == "kind" and which in list(Kind) else None
    type_id = int(which) if group == "type" and re.fullmatch(r"[0-9]{1,9}", which) else None
    if not known or (group and kind is None and type_id is None):
        form.blame(f"step_for_{place}", "Choose one of these.")
    if not form.value(f"step_price_{place}").strip():
        form.blame(f"step_price_{place}", "Give the price, or leave the whole row empty.")
    return Step(form.pence(f"step_price_{place}"), form.whole(f"step_from_{place}") or 1, kind, type_id)


def _extra(form: Form, place: int) -> NamedExtra:
    name = form.text(f"extra_name_{place}", 80)
    if name and not form.value(f"extra_price_{place}").strip():
        form.blame(f"extra_price_{place}", "Give the price, or leave the whole row empty.")
    return NamedExtra(name, form.pence(f"extra_price_{place}"), form.text(f"extra_unit_{place}", 20))


def _typed(pence: int) -> str:
    return show_money(pence).removeprefix("£").replace(",", "")
