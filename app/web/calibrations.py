"""Entering a calibration, and its certificate as a file that can only be downloaded."""

from datetime import date

from fastapi import APIRouter, Request, Response

from app.actions.instruments import add_calibration, add_calibration_file, strike_out_calibration
from app.rules.file_names import suggest_file_name
from app.rules.instruments import AsFound, CalibrationDetails, CalibrationResult
from app.rules.verdicts import Mistakes
from app.store.database import Missing
from app.store.instruments import get_calibration, get_instrument
from app.web.fields import Form
from app.web.instrument_pages import show_instrument_whole
from app.web.kit import Doing, Reading, Sent, ask_again, attachment, go, page

routes = APIRouter()
ENDINGS = {"application/pdf": "pdf", "image/png": "png", "image/jpeg": "jpg"}


@routes.post("/instruments/{instrument_id}/calibrations")
def save_calibration(request: Request, deed: Doing, sent: Sent, instrument_id: int) -> Response:
    row = get_instrument(deed.session, instrument_id)
    try:
        details, content = _calibration_from(sent), sent.files.get("file", b"")
        add_calibration(deed, instrument_id, details, content, sent.tick("sure"))
    except Mistakes as wrong:
        whole = show_instrument_whole(deed.session, row, deed.today)
        raise ask_again(request, "instruments/show.html", sent, wrong, **whole) from wrong
    return go(f"/instruments/{instrument_id}")


@routes.get("/instruments/{instrument_id}/calibrations/{calibration_id}")
def show_calibration(request: Request, session: Reading, instrument_id: int, calibration_id: int) -> Response:
    row = get_calibration(session, instrument_id, calibration_id)
    instrument = get_instrument(session, instrument_id)
    return page(request, "calibrations/show.html", form=Form(), calibration=row, instrument=instrument)


@routes.post("/instruments/{instrument_id}/calibrations/{calibration_id}/file")
def save_calibration_file(
    request: Request, deed: Doing, sent: Sent, instrument_id: int, calibration_id: int
) -> Response:
    row = get_calibration(deed.session, instrument_id, calibration_id)
    try:
        add_calibration_file(deed, instrument_id, calibration_id, sent.files.get("file", b""))
    except Mistakes as wrong:
        instrument = get_instrument(deed.session, instrument_id)
        context = {"calibration": row, "instrument": instrument}
        raise ask_again(request, "calibrations/show.html", sent, wrong, **context) from wrong
    return go(f"/instruments/{instrument_id}/calibrations/{calibration_id}")


@routes.post("/instruments/{instrument_id}/calibrations/{calibration_id}/strike-out")
def save_struck_calibration(
    request: Request, deed: Doing, sent: Sent, instrument_id: int, calibration_id: int
) -> Response:
    row = get_calibration(deed.session, instrument_id, calibration_id)
    try:
        reason = sent.text("struck_reason", 300)
        sent.done()
        strike_out_calibration(deed, instrument_id, calibration_id, reason)
    except Mistakes as wrong:
        context = {"calibration": row, "instrument": get_instrument(deed.session, instrument_id)}
        raise ask_again(request, "calibrations/show.html", sent, wrong, **context) from wrong
    return go(f"/instruments/{instrument_id}")


@routes.get("/instruments/{instrument_id}/calibrations/{calibration_id}/file")
def download_calibration_file(session: Reading, instrument_id: int, calibration_id: int) -> Response:
    row = get_calibration(session, instrument_id, calibration_id)
    if row.file is None:
        raise Missing("file of this calibration")
    instrument = get_instrument(session, instrument_id)
    ending = ENDINGS[row.file.media_type]
    name = suggest_file_name("Calibration", row.certificate_number, instrument.name, row.calibrated_on, ending)
    return attachment(row.file.content, row.file.media_type, name)


def _calibration_from(sent: Form) -> CalibrationDetails:
    if sent.value("result") in set(CalibrationResult):
        as_found, passed = CalibrationResult(sent.value("result")).told
    else:
        as_found, passed = AsFound.UNSAID, True
        sent.blame("result", "Choose what the certificate says of the instrument.")
    details = CalibrationDetails(
        calibrated_on=sent.day("calibrated_on", needed="Give the day of calibration.") or date.min,
        good_until=sent.day("good_until", needed="Give the last day on which it counts as calibrated.") or date.min,
        certificate_number=sent.text(
            "certificate_number", 80, needed="Give the number of the calibration certificate."
        ),
        laboratory=sent.text("laboratory"),
        passed=passed,
        as_found=as_found,
    )
    sent.done()
    return details
