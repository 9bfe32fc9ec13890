"""Instruments and their calibrations: which may be used today, and until when."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.instruments import add_calibration, add_instrument, add_range, change_instrument, remove_range
from app.rules.checks import UNITS, Check
from app.rules.instruments import CalibrationDetails, InstrumentDetails, next_doubt
from app.rules.quantities import Unit
from app.rules.uncertainties import MeasuringRange
from app.rules.verdicts import Mistakes
from app.store.instruments import InstrumentRow, get_instrument, list_instruments
from app.store.journal import list_journal
from app.store.readings import list_doubtful_visits
from app.web.fields import Form
from app.web.filters import show_date, show_plural
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ask_again, go, page

routes = APIRouter()
#: From so many days before the end the page says how many are left: a calibration takes weeks to arrange.
WARN_DAYS = 45


@dataclass(frozen=True)
class CalibrationState:
    """How an instrument stands on a day: a state word of the page, and a sentence."""

    word: str
    sentence: str


@routes.get("/instruments")
def list_all_instruments(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    search = asked.text("q")
    rows = [(row, _state_of(row, desk.today)) for row in list_instruments(session) if _holds(row, search)]
    return page(request, "instruments/list.html", instruments=rows, search=search)


@routes.get("/instruments/new")
def new_instrument(request: Request) -> Response:
    return page(request, "instruments/new.html", form=Form())


@routes.post("/instruments")
def save_new_instrument(request: Request, deed: Doing, sent: Sent) -> Response:
    try:
        row = add_instrument(deed, _details_from(sent, active=True))
    except Mistakes as wrong:
        raise ask_again(request, "instruments/new.html", sent, wrong) from wrong
    return go(f"/instruments/{row.id}")


@routes.get("/instruments/{instrument_id}")
def show_instrument(request: Request, session: Reading, desk: TheDesk, instrument_id: int) -> Response:
    row = get_instrument(session, instrument_id)
    return page(request, "instruments/show.html", form=Form(), **_whole(session, row, desk.today))


@routes.get("/instruments/{instrument_id}/edit")
def edit_instrument(request: Request, session: Reading, instrument_id: int) -> Response:
    row = get_instrument(session, instrument_id)
    form = Form.showing(version=row.version, **vars(row.details))
    return page(request, "instruments/edit.html", form=form, instrument=row)


@routes.post("/instruments/{instrument_id}")
def save_instrument(request: Request, deed: Doing, sent: Sent, instrument_id: int) -> Response:
    row = get_instrument(deed.session, instrument_id)
    try:
        change_instrument(deed, instrument_id, _details_from(sent, sent.tick("active")), sent.version())
    except Mistakes as wrong:
        raise ask_again(request, "instruments/edit.html", sent, wrong, instrument=row) from wrong
    return go(f"/instruments/{instrument_id}")


@routes.post("/instruments/{instrument_id}/calibrations")
def save_calibration(request: Request, deed: Doing, sent: Sent, instrument_id: int) -> Response:
    row = get_instrument(deed.session, instrument_id)
    try:
        add_calibration(deed, instrument_id, _calibration_from(sent))
    except Mistakes as wrong:
        whole = _whole(deed.session, row, deed.today)
        raise ask_again(request, "instruments/show.html", sent, wrong, **whole) from wrong
    return go(f"/instruments/{instrument_id}")


@routes.post("/instruments/{instrument_id}/ranges")
def save_range(request: Request, deed: Doing, sent: Sent, instrument_id: int) -> Response:
    row = get_instrument(deed.session, instrument_id)
    try:
        add_range(deed, instrument_id, _range_from(sent))
    except Mistakes as wrong:
        whole = _whole(deed.session, row, deed.today)
        raise ask_again(request, "instruments/show.html", sent, wrong, **whole) from wrong
    return go(f"/instruments/{instrument_id}#ranges")


@routes.post("/instruments/{instrument_id}/ranges/{range_id}/remove")
def remove_instrument_range(deed: Doing, instrument_id: int, range_id: int) -> Response:
    remove_range(deed, instrument_id, range_id)
    return go(f"/instruments/{instrument_id}#ranges")


def _range_from(sent: Form) -> MeasuringRange:
    """One function and range as typed; every number is needed but the two parts of the uncertainty."""
    check, unit = sent.choice("check", Check), sent.choice("unit", Unit)
    if check not in UNITS:
        sent.blame("check", "Choose a check that is measured.")
    numbers = {name: sent.number(name) for name in ("least", "most", "percent", "digits", "resolution")}
    for name in ("most", "resolution"):
        if numbers[name] is None:
            sent.blame(name, "Give a number.")
    sent.done()
    return MeasuringRange(check, unit, **{name: number or Decimal(0) for name, number in numbers.items()})


def _details_from(sent: Form, active: bool) -> InstrumentDetails:
    details = InstrumentDetails(
        name=sent.text("name", 80, needed="Give the instrument a name that people here know it by."),
        serial=sent.text("serial", 80, needed="Give the serial number; the certificate must identify the instrument."),
        make=sent.text("make"),
        model=sent.text("model"),
        notes=sent.lines("notes"),
        active=active,
    )
    sent.done()
    return details


def _calibration_from(sent: Form) -> CalibrationDetails:
    details = CalibrationDetails(
        calibrated_on=sent.day("calibrated_on", needed="Give the day of calibration.") or date.min,
        good_until=sent.day("good_until", needed="Give the last day on which it counts as calibrated.") or date.min,
        certificate_number=sent.text(
            "certificate_number", 80, needed="Give the number of the calibration certificate."
        ),
        laboratory=sent.text("laboratory"),
        passed=not sent.tick("failed"),
    )
    sent.done()
    return details


def _whole(session: Session, row: InstrumentRow, today: date) -> dict[str, Any]:
    journal = list_journal(session, "instrument", row.id, limit=20)
    doubt = next_doubt([(each.calibrated_on, each.passed) for each in row.calibrations])
    return {
        "doubt": doubt,
        "doubtful": list_doubtful_visits(session, row.id, *doubt) if doubt else [],
        "instrument": row,
        "calibration": _state_of(row, today),
        "journal": journal,
        "ranges": [(each.id, each.as_range) for each in row.ranges],
        "checks": [(check.value, check.word.capitalize()) for check in UNITS],
        "units": [(unit.value, unit.symbol) for unit in Unit],
    }


def _holds(row: InstrumentRow, search: str) -> bool:
    words = f"{row.name} {row.serial} {row.make} {row.model}".casefold()
    return all(word in words for word in search.casefold().split())


def _state_of(row: InstrumentRow, today: date) -> CalibrationState:
    until = row.good_until
    if not row.active:
        return CalibrationState("retired", "No longer used.")
    if until is None:
        failed = row.calibrations[0].calibrated_on if row.calibrations else None
        told = f"Failed its calibration of {show_date(failed)}." if failed else "No calibration on record."
        return CalibrationState("out of calibration", told)
    left = (until - today).days
    if left < 0:
        return CalibrationState(
            "out of calibration", f"Ran out on {show_date(until)}, {show_plural(-left, 'day')} ago."
        )
    if left == 0:
        return CalibrationState("due soon", "Runs out today; today it still counts.")
    if left <= WARN_DAYS:
        return CalibrationState("due soon", f"Runs out in {show_plural(left, 'day')}, on {show_date(until)}.")
    return CalibrationState("in calibration", f"Good until {show_date(until)}.")
