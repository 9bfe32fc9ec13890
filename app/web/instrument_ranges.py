"""The functions and ranges of an instrument, each with its uncertainty and one example worked in numbers."""

from decimal import Decimal
from typing import Any

from fastapi import APIRouter, Request, Response

from app.actions.instruments import add_range, change_range, remove_range
from app.rules.checks import UNITS, Check
from app.rules.quantities import Unit, describe_number
from app.rules.uncertainties import (
    USUAL_COVERAGE,
    MeasuringRange,
    describe_range_example,
    describe_range_uncertainty,
)
from app.rules.verdicts import Mistakes
from app.store.instruments import InstrumentRow, get_instrument, get_range
from app.web.fields import Form
from app.web.filters import show_check
from app.web.kit import Doing, Reading, Sent, ask_again, go, page

routes = APIRouter()
_NUMBERS = ("least", "most", "percent", "digits", "resolution", "absolute", "coverage")


@routes.get("/instruments/{instrument_id}/ranges")
def show_ranges(request: Request, session: Reading, instrument_id: int) -> Response:
    row = get_instrument(session, instrument_id)
    return page(request, "instruments/ranges.html", form=Form({"coverage": "2"}), **_context(row))


@routes.post("/instruments/{instrument_id}/ranges")
def save_range(request: Request, deed: Doing, sent: Sent, instrument_id: int) -> Response:
    row = get_instrument(deed.session, instrument_id)
    try:
        add_range(deed, instrument_id, _range_from(sent))
    except Mistakes as wrong:
        raise ask_again(request, "instruments/ranges.html", sent, wrong, **_context(row)) from wrong
    return go(f"/instruments/{instrument_id}/ranges")


@routes.get("/instruments/{instrument_id}/ranges/{range_id}/edit")
def edit_range(request: Request, session: Reading, instrument_id: int, range_id: int) -> Response:
    entered = get_range(session, instrument_id, range_id)
    told = {name: getattr(entered, name) for name in _NUMBERS}
    shown = {name: describe_number(number) if number else "" for name, number in told.items()}
    form = Form.showing(check=entered.check, unit=entered.unit, **shown)
    context = _context(get_instrument(session, instrument_id))
    return page(request, "instruments/edit_range.html", form=form, range_id=range_id, **context)


@routes.post("/instruments/{instrument_id}/ranges/{range_id}")
def save_changed_range(request: Request, deed: Doing, sent: Sent, instrument_id: int, range_id: int) -> Response:
    row = get_instrument(deed.session, instrument_id)
    try:
        change_range(deed, instrument_id, range_id, _range_from(sent))
    except Mistakes as wrong:
        context = {"range_id": range_id} | _context(row)
        raise ask_again(request, "instruments/edit_range.html", sent, wrong, **context) from wrong
    return go(f"/instruments/{instrument_id}/ranges")


@routes.post("/instruments/{instrument_id}/ranges/{range_id}/remove")
def remove_instrument_range(deed: Doing, instrument_id: int, range_id: int) -> Response:
    remove_range(deed, instrument_id, range_id)
    return go(f"/instruments/{instrument_id}/ranges")


def _range_from(sent: Form) -> MeasuringRange:
    """One function and range as typed; what is left empty of the uncertainty counts as nothing."""
    check, unit = sent.choice("check", Check), sent.choice("unit", Unit)
    if check not in UNITS:
        sent.blame("check", "Choose a check that is measured.")
    numbers = {name: sent.number(name) for name in _NUMBERS if name != "coverage"}
    coverage = sent.number("coverage")
    if numbers["most"] is None:
        sent.blame("most", "Give a number.")
    sent.done()
    told = {name: number or Decimal(0) for name, number in numbers.items()}
    return MeasuringRange(check, unit, coverage=coverage if coverage is not None else USUAL_COVERAGE, **told)


def _context(row: InstrumentRow) -> dict[str, Any]:
    ranges = [each.as_range for each in row.ranges]
    return {
        "instrument": row,
        "ranges": [
            (kept.id, each, describe_range_uncertainty(each), describe_range_example(each))
            for kept, each in zip(row.ranges, ranges, strict=True)
        ],
        "checks": [(check.value, show_check(check)) for check in UNITS],
        "units": [(unit.value, unit.symbol) for unit in Unit],
    }
