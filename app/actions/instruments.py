"""Instruments, their calibrations with the certificates as files, and their functions and ranges."""

from app.actions.calibration_files import certificate_file_from
from app.actions.deeds import Deed, check_version, columns_of, fill, say_day
from app.rules.instruments import (
    CalibrationDetails,
    InstrumentDetails,
    check_calibration,
    check_instrument,
    check_range,
)
from app.rules.uncertainties import MeasuringRange
from app.rules.verdicts import Mistakes
from app.store.database import Missing
from app.store.instruments import (
    CalibrationFileRow,
    CalibrationRow,
    InstrumentRow,
    RangeRow,
    get_calibration,
    get_instrument,
    list_instruments,
)


def add_instrument(deed: Deed, details: InstrumentDetails) -> InstrumentRow:
    """Add an instrument. Raises Mistakes."""
    _check(deed, details, None)
    row = InstrumentRow(**columns_of(details))
    deed.session.add(row)
    deed.session.flush()
    deed.note("instrument", row.id, f"Added the instrument {row.name}, serial {row.serial}.")
    return row


def change_instrument(
    deed: Deed, instrument_id: int, details: InstrumentDetails, version: int | None = None
) -> InstrumentRow:
    """Change an instrument. Raises Mistakes."""
    row = get_instrument(deed.session, instrument_id)
    check_version(row, version, "this instrument")
    _check(deed, details, row)
    fill(row, details)
    deed.note("instrument", row.id, f"Changed the instrument {row.name}.")
    return row


def add_calibration(
    deed: Deed, instrument_id: int, details: CalibrationDetails, content: bytes = b""
) -> CalibrationRow:
    """Enter a calibration, with its certificate as a file where there is one. Raises Mistakes."""
    row = get_instrument(deed.session, instrument_id)
    mistakes, kept = check_calibration(details, deed.today), None
    try:
        kept = certificate_file_from(content) if content else None
    except ValueError as problem:
        mistakes["file"] = str(problem)
    if mistakes:
        raise Mistakes(mistakes)
    calibration = CalibrationRow(instrument_id=row.id, **columns_of(details))
    deed.session.add(calibration)
    deed.session.flush()
    if kept:
        _keep(deed, calibration, kept)
    deed.session.expire(row, ["calibrations"])
    held = f"good until {say_day(details.good_until)}" if details.passed else "failed as found"
    with_file = ", with its file" if kept else ""
    deed.note("instrument", row.id, f"Entered calibration {details.certificate_number}, {held}{with_file}.")
    return calibration


def add_calibration_file(deed: Deed, instrument_id: int, calibration_id: int, content: bytes) -> CalibrationRow:
    """Keep the file of a calibration that is on record, in place of the one there is. Raises Mistakes."""
    row = get_calibration(deed.session, instrument_id, calibration_id)
    if not content:
        raise Mistakes({"file": "Choose the file first."})
    try:
        kept = certificate_file_from(content)
    except ValueError as problem:
        raise Mistakes({"file": str(problem)}) from problem
    again = "Replaced" if row.file else "Added"
    _keep(deed, row, kept)
    deed.note("instrument", instrument_id, f"{again} the file of calibration {row.certificate_number}.")
    return row


def add_range(deed: Deed, instrument_id: int, details: MeasuringRange) -> RangeRow:
    """Enter a function and range with its uncertainty. Raises Mistakes."""
    row = get_instrument(deed.session, instrument_id)
    if mistakes := check_range(details):
        raise Mistakes(mistakes)
    entered = RangeRow(instrument_id=row.id, **columns_of(details))
    deed.session.add(entered)
    deed.session.flush()
    deed.session.expire(row, ["ranges"])
    deed.note("instrument", row.id, f"Entered a range of {row.name} for the {details.check.word}.")
    return entered


def remove_range(deed: Deed, instrument_id: int, range_id: int) -> None:
    """Remove a range. What was judged with it stays as it was judged."""
    row = get_instrument(deed.session, instrument_id)
    entered = next((each for each in row.ranges if each.id == range_id), None)
    if entered is None:
        raise Missing("range")
    row.ranges.remove(entered)
    deed.note("instrument", row.id, f"Removed a range of {row.name}.")


def _check(deed: Deed, details: InstrumentDetails, row: InstrumentRow | None) -> None:
    mistakes = check_instrument(details)
    for other in list_instruments(deed.session):
        if other is not row and other.serial == details.serial:
            mistakes["serial"] = f"{other.name} has this serial number already."
    if mistakes:
        raise Mistakes(mistakes)


def _keep(deed: Deed, row: CalibrationRow, kept: tuple[str, bytes]) -> None:
    media_type, content = kept
    file = row.file or CalibrationFileRow(calibration_id=row.id)
    file.media_type, file.content, file.size_bytes, file.added_at = media_type, content, len(content), deed.now
    deed.session.add(file)
    deed.session.flush()
    deed.session.expire(row, ["file"])
