"""Instruments, their calibrations with the certificates as files, and their functions and ranges."""

from app.actions.calibration_files import certificate_file_from
from app.actions.deeds import Deed, check_version, columns_of, fill, say_day
from app.rules.instruments import (
    AsFound,
    CalibrationDetails,
    InstrumentDetails,
    check_calibration,
    check_instrument,
    check_range,
    has_same_ends,
)
from app.rules.people import Role
from app.rules.uncertainties import MeasuringRange, describe_range
from app.rules.verdicts import Mistakes, Refused
from app.store.instruments import (
    CalibrationFileRow,
    CalibrationRow,
    InstrumentRow,
    RangeRow,
    get_calibration,
    get_instrument,
    get_range,
    list_instruments,
)
from app.store.reference_checks import ReferenceCheckRow


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
    before = columns_of(row.details)
    fill(row, details)
    changed = [
        f"{name} {before[name] or 'nothing'}, now {value or 'nothing'}"
        for name, value in columns_of(details).items()
        if before[name] != value and name not in ("active", "notes")
    ]
    if before["active"] != details.active:
        changed.append("in use again" if details.active else "no longer used")
    if before["notes"] != details.notes:
        changed.append("other notes")
    deed.note("instrument", row.id, f"Changed the instrument {row.name}: {'; '.join(changed) or 'nothing'}.")
    return row


def add_calibration(
    deed: Deed, instrument_id: int, details: CalibrationDetails, content: bytes = b"", sure: bool = False
) -> CalibrationRow:
    """Enter a calibration, with its certificate as a file where there is one. Raises Mistakes.

    sure: it does hold for longer than usual. The number of a certificate stands once at an instrument.
    """
    row = get_instrument(deed.session, instrument_id)
    mistakes, kept = check_calibration(details, deed.today, sure), None
    number = details.certificate_number.strip().casefold()
    if same := next((each for each in row.calibrations if each.certificate_number.casefold() == number), None):
        day = say_day(same.calibrated_on)
        mistakes["certificate_number"] = f"This number is on record already, for the calibration of {day}."
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
    deed.session.expire(row, ["calibrations", "all_calibrations"])
    held = f"good until {say_day(details.good_until)}" if details.passed else "out of tolerance and not put right"
    if details.passed and details.as_found is AsFound.OUTSIDE:
        held = f"out of tolerance as found, put right, {held}"
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


def strike_out_calibration(deed: Deed, instrument_id: int, calibration_id: int, reason: str) -> CalibrationRow:
    """Strike out a calibration that was entered wrongly: it stays to be seen and counts for nothing.

    The owner's deed alone, with a reason, since it may lift or bring what stops the instrument. Raises Mistakes.
    """
    row = get_calibration(deed.session, instrument_id, calibration_id)
    strike_out_record(deed, row, "calibration", reason)
    deed.session.expire(get_instrument(deed.session, instrument_id), ["calibrations", "all_calibrations"])
    number = row.certificate_number
    deed.note("instrument", instrument_id, f"Struck out the calibration {number}: {row.struck_reason}")
    return row


def strike_out_record(deed: Deed, row: CalibrationRow | ReferenceCheckRow, word: str, reason: str) -> None:
    """Strike out a record of an instrument, once: the owner alone, with a reason. Raises Refused and Mistakes."""
    if row.struck_at is not None:
        raise Refused(f"This {word} is struck out already.")
    if deed.doer.role != Role.OWNER:
        raise Refused("Only the owner can strike out a record. It stays to be seen, with the reason.")
    if not reason.strip():
        raise Mistakes({"struck_reason": "Give the reason; it stays beside the record."})
    row.struck_at, row.struck_by, row.struck_reason = deed.now, deed.doer.name, " ".join(reason.split())
    deed.session.flush()


def add_range(deed: Deed, instrument_id: int, details: MeasuringRange) -> RangeRow:
    """Enter a function and range with its uncertainty. Raises Mistakes."""
    row = get_instrument(deed.session, instrument_id)
    _check_range(row, details, None)
    entered = RangeRow(instrument_id=row.id, **columns_of(details))
    deed.session.add(entered)
    deed.session.flush()
    deed.session.expire(row, ["ranges"])
    deed.note("instrument", row.id, f"Entered a range of {row.name}, {_said(details)}.")
    return entered


def change_range(deed: Deed, instrument_id: int, range_id: int, details: MeasuringRange) -> RangeRow:
    """Change a range. What was judged with it stays as it was judged. Raises Mistakes."""
    row = get_instrument(deed.session, instrument_id)
    entered = get_range(deed.session, instrument_id, range_id)
    _check_range(row, details, entered)
    before = entered.as_range
    fill(entered, details)
    deed.session.flush()
    deed.session.expire(row, ["ranges"])
    if entered.as_range != before:
        deed.note("instrument", row.id, f"Changed a range of {row.name}: {_said(before)}; now {_said(details)}.")
    return entered


def remove_range(deed: Deed, instrument_id: int, range_id: int) -> None:
    """Remove a range. What was judged with it stays as it was judged."""
    row = get_instrument(deed.session, instrument_id)
    gone = get_range(deed.session, instrument_id, range_id)
    row.ranges.remove(gone)
    deed.note("instrument", row.id, f"Removed a range of {row.name}, {_said(gone.as_range)}.")


def _said(each: MeasuringRange) -> str:
    """A range as the journal keeps it: how sure a reading is decides verdicts."""
    return f"{each.check.word} {describe_range(each)}"


def _check(deed: Deed, details: InstrumentDetails, row: InstrumentRow | None) -> None:
    mistakes = check_instrument(details)
    for other in list_instruments(deed.session):
        if other is not row and other.serial == details.serial:
            mistakes["serial"] = f"{other.name} has this serial number already."
    if mistakes:
        raise Mistakes(mistakes)


def _check_range(row: InstrumentRow, details: MeasuringRange, own: RangeRow | None) -> None:
    """The finest range decides how sure a reading is, so an older one with the same ends would go on deciding."""
    mistakes = check_range(details)
    if not mistakes and any(each is not own and has_same_ends(details, each.as_range) for each in row.ranges):
        mistakes["most"] = "There is a range of this function with these ends already. Change that one, or remove it."
    if mistakes:
        raise Mistakes(mistakes)


def _keep(deed: Deed, row: CalibrationRow, kept: tuple[str, bytes]) -> None:
    media_type, content = kept
    file = row.file or CalibrationFileRow(calibration_id=row.id)
    file.media_type, file.content, file.size_bytes, file.added_at = media_type, content, len(content), deed.now
    deed.session.add(file)
    deed.session.flush()
    deed.session.expire(row, ["file"])
