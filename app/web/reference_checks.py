"""Reference checks of an instrument: the quick form for what it shows, the history drawn, and the reference items."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.reference_checks import (
    add_reference_item,
    change_reference_item,
    record_reference_checks,
    strike_out_check,
)
from app.rules.checks import UNITS, Check
from app.rules.quantities import Unit, parse_reading
from app.rules.reference_checks import Allowed, ReferenceDetails, describe_reference_history
from app.rules.verdicts import Mistakes
from app.store.instruments import InstrumentRow, get_instrument
from app.store.reference_checks import (
    facts_of_standing,
    get_reference_check,
    get_reference_item,
    list_reference_checks,
    list_reference_items,
)
from app.web.fields import Form
from app.web.filters import show_check
from app.web.instrument_pages import list_reference_lines
from app.web.instrument_states import show_state
from app.web.kit import Doing, Reading, Sent, TheDesk, ask_again, go, page
from app.web.reference_charts import BandChart, show_band_chart

routes = APIRouter()


@routes.get("/instruments/{instrument_id}/checks")
def show_checks(request: Request, session: Reading, desk: TheDesk, instrument_id: int) -> Response:
    """How the instrument has done against each reference item, drawn, with the table behind the picture."""
    row = get_instrument(session, instrument_id)
    return page(
        request,
        "reference_checks/show.html",
        instrument=row,
        state_now=show_state(row, facts_of_standing(session, row), desk.today),
        lines=[
            (line, _chart(session, line.item.id, row.id), list_reference_checks(session, line.item.id, struck=True))
            for line in list_reference_lines(session, row, desk.today)
        ],
    )


@routes.get("/instruments/{instrument_id}/checks/new")
def new_checks(request: Request, session: Reading, desk: TheDesk, instrument_id: int) -> Response:
    row = get_instrument(session, instrument_id)
    context = _form_context(session, row, desk.today)
    return page(request, "reference_checks/new.html", form=Form(), **context)


@routes.post("/instruments/{instrument_id}/checks")
def save_checks(request: Request, deed: Doing, sent: Sent, instrument_id: int) -> Response:
    """Record what was typed; a reference item whose field is empty was not checked."""
    row = get_instrument(deed.session, instrument_id)
    try:
        shown = {}
        for item in list_reference_items(deed.session, row.id):
            name = f"reading-{item.id}"
            if not sent.value(name).strip():
                continue
            try:
                shown[item.id] = parse_reading(sent.value(name), Unit(item.unit))
            except ValueError as problem:
                sent.blame(name, str(problem))
        note = sent.text("note", 300)
        sent.done()
        record_reference_checks(deed, row.id, shown, note)
    except Mistakes as wrong:
        context = _form_context(deed.session, row, deed.today)
        raise ask_again(request, "reference_checks/new.html", sent, wrong, **context) from wrong
    return go(f"/instruments/{row.id}/checks")


@routes.get("/instruments/{instrument_id}/checks/{check_id}")
def show_check_made(request: Request, session: Reading, instrument_id: int, check_id: int) -> Response:
    row = get_reference_check(session, instrument_id, check_id)
    return page(request, "reference_checks/check.html", form=Form(), check=row, instrument=row.item.instrument)


@routes.post("/instruments/{instrument_id}/checks/{check_id}/strike-out")
def save_struck_check(request: Request, deed: Doing, sent: Sent, instrument_id: int, check_id: int) -> Response:
    row = get_reference_check(deed.session, instrument_id, check_id)
    try:
        reason = sent.text("struck_reason", 300)
        sent.done()
        strike_out_check(deed, instrument_id, check_id, reason)
    except Mistakes as wrong:
        context = {"check": row, "instrument": row.item.instrument}
        raise ask_again(request, "reference_checks/check.html", sent, wrong, **context) from wrong
    return go(f"/instruments/{instrument_id}/checks")


@routes.get("/instruments/{instrument_id}/references/new")
def new_reference_item(request: Request, session: Reading, instrument_id: int) -> Response:
    row = get_instrument(session, instrument_id)
    form = Form({"allowed": Allowed.PERCENT.value, "every_days": "30"})
    return page(request, "reference_checks/new_item.html", form=form, instrument=row, **_choices())


@routes.post("/instruments/{instrument_id}/references")
def save_new_reference_item(request: Request, deed: Doing, sent: Sent, instrument_id: int) -> Response:
    row = get_instrument(deed.session, instrument_id)
    try:
        add_reference_item(deed, row.id, _details_from(sent, active=True))
    except Mistakes as wrong:
        context = {"instrument": row} | _choices()
        raise ask_again(request, "reference_checks/new_item.html", sent, wrong, **context) from wrong
    return go(f"/instruments/{row.id}#checks")


@routes.get("/instruments/{instrument_id}/references/{reference_id}/edit")
def edit_reference_item(request: Request, session: Reading, instrument_id: int, reference_id: int) -> Response:
    row = get_reference_item(session, instrument_id, reference_id)
    form = Form.showing(version=row.version, **vars(row.details))
    return page(request, "reference_checks/edit_item.html", form=form, item=row, **_choices())


@routes.post("/instruments/{instrument_id}/references/{reference_id}")
def save_reference_item(request: Request, deed: Doing, sent: Sent, instrument_id: int, reference_id: int) -> Response:
    row = get_reference_item(deed.session, instrument_id, reference_id)
    try:
        details = _details_from(sent, sent.tick("active"))
        change_reference_item(deed, instrument_id, reference_id, details, sent.version())
    except Mistakes as wrong:
        context = {"item": row} | _choices()
        raise ask_again(request, "reference_checks/edit_item.html", sent, wrong, **context) from wrong
    return go(f"/instruments/{instrument_id}#checks")


def _details_from(sent: Form, active: bool) -> ReferenceDetails:
    check, unit = sent.choice("check", Check), sent.choice("unit", Unit)
    nominal, tolerance = sent.number("nominal"), sent.number("tolerance")
    every_days = sent.whole("every_days", 1, 1830)
    for name, number, sentence in (
        ("nominal", nominal, "Give the known value."),
        ("tolerance", tolerance, "Give how far from the known value the instrument may show."),
        ("every_days", every_days, "Give the number of days from one check to the next."),
    ):
        if number is None:
            sent.blame(name, sentence)
    name = sent.text("name", 80, needed="Give it a name, such as “1 Ω resistor in the check box”.")
    allowed = sent.choice("allowed", Allowed)
    sent.done()
    assert nominal is not None and tolerance is not None and every_days is not None
    return ReferenceDetails(name, check, nominal, unit, tolerance, allowed, every_days, active)


def _choices() -> dict[str, Any]:
    return {
        "checks": [(check.value, show_check(check)) for check in UNITS],
        "units": [(unit.value, unit.symbol) for unit in Unit],
        "alloweds": [(each.value, each.word.capitalize()) for each in Allowed],
    }


def _form_context(session: Session, row: InstrumentRow, today: Any) -> dict[str, Any]:
    lines = [line for line in list_reference_lines(session, row, today) if line.item.active]
    return {"instrument": row, "lines": lines}


def _chart(session: Session, reference_id: int, instrument_id: int) -> BandChart | None:
    rows = list_reference_checks(session, reference_id)
    if not rows:
        return None
    details = get_reference_item(session, instrument_id, reference_id).details
    history = [(row.checked_on, row.value, row.reading.bound, row.passed) for row in rows]
    return show_band_chart(details.name, describe_reference_history(details, history), rows)
