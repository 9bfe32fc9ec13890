"""Facts for papers about instruments: which measured what, what stood against them, and the calibration to print."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.rules.certificates import InstrumentFacts
from app.rules.instrument_allowances import Allowance, describe_allowance, list_used_allowances
from app.rules.instrument_standings import Standing, list_worries
from app.store.instruments import InstrumentRow, get_instrument
from app.store.readings import VisitItemRow
from app.store.visits import VisitRow


@dataclass(frozen=True)
class Measured:
    """That an instrument measured something that a paper prints."""

    instrument_id: int
    moment: datetime
    day: date


def list_measured_by(rows: list[VisitItemRow]) -> list[Measured]:
    """What was measured for some items, with what was found before one was put right, in the order of time."""
    sets = [(row.readings, row.tested_on) for row in rows]
    sets += [(earlier.readings, earlier.tested_on) for row in rows for earlier in row.rounds]
    found = [
        Measured(reading.instrument_id, reading.recorded_at, day or reading.recorded_at.date())
        for readings, day in sets
        for reading in readings
        if reading.instrument_id is not None
    ]
    return sorted(found, key=lambda each: (each.moment, each.instrument_id))


def list_instruments_of(session: Session, visit: VisitRow, measured: list[Measured]) -> list[InstrumentRow]:
    """The instruments that measured something at a visit, in the order in which they did; else the visit's own."""
    ids = dict.fromkeys(each.instrument_id for each in measured) or {visit.instrument_id: None}
    return [get_instrument(session, instrument_id) for instrument_id in ids]


def _was_needed(allowance: Allowance, row: InstrumentRow, measured: list[Measured]) -> bool:
    """Whether what was allowed stood on a day of measuring: a calibration made since, before that day, ends it.

    Of failed checks only those who were there know, so what names one is always needed.
    """
    told: set[str] = set()
    for day in {each.day for each in measured if each.instrument_id == row.id}:
        known = [each for each in row.calibrations if each.calibrated_on < day or not each.passed]
        newest = next((each for each in known if each.calibrated_on <= day), None)
        good_until = newest.good_until if newest is not None and newest.passed else None
        failed_on = newest.calibrated_on if newest is not None and not newest.passed else None
        told |= set(list_worries(Standing(row.id, row.name, good_until, failed_on), day))
    return any(worry in told or " against " in worry for worry in allowance.worries)


def _failure(row: InstrumentRow, day: date, allowed: tuple[Allowance, ...]) -> str:
    """That an instrument failed a calibration after the good one printed for it, unless an allowance says so."""
    failure = row.failure_on(day)
    if failure is None:
        return ""
    told = f"{row.name} failed its calibration of {failure.calibrated_on.day} {failure.calibrated_on:%B %Y}"
    if any(f"{told}." in each.worries for each in allowed):
        return ""
    return f"{told}, certificate {failure.certificate_number}."


def facts_of_instrument(row: InstrumentRow, day: date) -> InstrumentFacts:
    calibration = row.calibration_on(day)
    facts = InstrumentFacts(row.name, row.serial, row.make, row.model)
    if calibration is None:
        return facts
    return InstrumentFacts(
        row.name,
        row.serial,
        row.make,
        row.model,
        calibration.certificate_number,
        calibration.calibrated_on,
        calibration.good_until,
        calibration.laboratory,
    )


def list_deviations_of(
    visit: VisitRow,
    instruments: Iterable[InstrumentRow],
    measured: list[Measured],
    last_days: dict[int, date],
    last: date,
) -> tuple[str, ...]:
    """What a paper says of instruments that were used although something stood against them, or that failed since."""
    by_id = {row.id: row for row in instruments}
    used = list_used_allowances(visit.allowances, [(each.instrument_id, each.moment) for each in measured])
    allowed = tuple(each for each in used if _was_needed(each, by_id[each.instrument_id], measured))
    failures = (_failure(row, last_days.get(row.id, last), allowed) for row in by_id.values())
    return (*(describe_allowance(each) for each in allowed), *(told for told in failures if told))
