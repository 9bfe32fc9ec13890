"""Instruments and their calibrations."""

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
from app.store.instruments import CalibrationRow, InstrumentRow, RangeRow, get_instrument, list_instruments


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


def add_calibration(deed: Deed, instrument_id: int, details: CalibrationDetails) -> CalibrationRow:
    """Enter a calibration. Raises Mistakes."""
    row = get_instrument(deed.session, instrument_id)
    if mistakes := check_calibration(details, deed.today):
        raise Mistakes(mistakes)
    calibration = CalibrationRow(instrument_id=row.id, **columns_of(details))
    deed.session.add(calibration)
    deed.session.flush()
    deed.session.expire(row, ["calibrations"])
    deed.note(
        "instrument",
        row.id,
        f"Entered calibration {details.certificate_number}, good until {say_day(details.good_until)}.",
    )
    return calibration


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
