"""The instruments of the demo: calibrations with their certificates, ranges, a year of reference checks of two testers,
and what was decided when one of them failed.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import Any, Protocol

from app.actions import instruments, reference_checks
from app.actions.doubts import decide_on_doubt
from app.rules.checks import Check
from app.rules.instruments import CalibrationDetails
from app.rules.quantities import Reading, Unit
from app.rules.reference_checks import Allowed, ReferenceDetails
from app.rules.uncertainties import MeasuringRange
from app.store.doubts import list_all_doubts
from demo_data.calibration_papers import invent_calibration_paper

CURRENT = Check.PROTECTIVE_CONDUCTOR_CURRENT
EARTH, INSULATION = Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Check.INSULATION_RESISTANCE
KNOWN = (
    ReferenceDetails("1 Ω resistor", EARTH, Decimal(1), Unit.OHM, Decimal(5)),
    ReferenceDetails("2 MΩ resistor", INSULATION, Decimal(2), Unit.MEGOHM, Decimal("0.1"), Allowed.ABSOLUTE),
)
#: What the first tester shows month by month: the one creeps up a little, the other only scatters.
SHOWN = (
    "1.002 1.001 1.004 1.006 1.005 1.009 1.010 1.013 1.012 1.016 1.018 1.021".split(),
    "2.01 1.99 2.00 2.02 1.98 2.00 2.01 1.99 2.01 2.00 1.98 2.00".split(),
)
#: What the second tester, which is less in use and checked every quarter, showed so many days ago: 1 Ω, 2 MΩ, the hour,
#: and what was found. It failed twice; the next check of the same day came after the cause was gone.
QUARTERLY = (
    (283, "0.999", "2.01", (8, 20), ""),
    (193, "1.001", "1.52", (8, 15), "The plug of the check box is damp."),
    (193, "1.000", "1.99", (11, 40), "Check box dried and its contacts cleaned; the tester was in order."),
    (103, "1.002", "2.00", (8, 30), ""),
    (13, "0.928", "2.01", (8, 20), "Reads low by the same amount after a restart."),
    (13, "1.002", "2.00", (9, 5), "The test lead had been nulled through a loose clip. New clip fitted, nulled again."),
)
#: What the owner said about the first of those failures, two days later. The second one waits for somebody.
DECIDED = (
    "No effect on what was measured: the damp was in our check box, and with dry contacts the tester read right "
    "the same day. Nothing to repeat."
)
RANGES = (
    MeasuringRange(EARTH, Unit.OHM, Decimal(0), Decimal(2), Decimal(2), Decimal(5), Decimal("0.001")),
    MeasuringRange(EARTH, Unit.OHM, Decimal(2), Decimal(20), Decimal(2), Decimal(5), Decimal("0.01")),
    MeasuringRange(INSULATION, Unit.MEGOHM, Decimal(0), Decimal(20), Decimal(3), Decimal(2), Decimal("0.01")),
    MeasuringRange(INSULATION, Unit.MEGOHM, Decimal(20), Decimal(200), Decimal(5), Decimal(2), Decimal("0.1")),
    MeasuringRange(
        CURRENT,
        Unit.MILLIAMP,
        Decimal(0),
        Decimal(20),
        Decimal(3),
        Decimal(3),
        Decimal("0.01"),
    ),
    MeasuringRange(
        Check.RCD_TRIP_TIME, Unit.MILLISECOND, Decimal(0), Decimal(300), *3 * (Decimal(0),), Decimal(3), Decimal(2)
    ),
)


class Telling(Protocol):
    """What is needed of the demo while it is being made."""

    desk: Any
    today: Any
    instruments: list[int]

    @property
    def owner(self) -> Any: ...
    @property
    def office(self) -> Any: ...
    @property
    def technicians(self) -> list[Any]: ...
    def go_to(self, day: Any, hour: int, minute: int = 0) -> None: ...


def calibrate(demo: Telling, told: list[dict[str, Any]], years: int) -> None:
    """Enter the yearly calibrations of each instrument, each with its certificate as a file."""
    for instrument_id, each in zip(demo.instruments, told, strict=True):
        last = demo.today + timedelta(days=each["good_for_days"] - 364)
        for years_ago in range(years + 1, -1, -1):
            day = last - timedelta(days=364 * years_ago)
            until = day + timedelta(days=364)
            demo.go_to(day, 12)
            number = f"BC-{day:%y}-{instrument_id:02d}{years_ago}"
            paper = invent_calibration_paper(
                [
                    each["laboratory"],
                    "",
                    f"Certificate of calibration {number}",
                    f"{each['make']} {each['model']}, serial number {each['serial']}",
                    f"Calibrated on {day.day} {day:%B %Y}. Next calibration by {until.day} {until:%B %Y}.",
                    "As found: within its specification. Nothing was adjusted.",
                    "",
                    "An invented paper of an invented laboratory.",
                ]
            )
            with demo.desk.doing(demo.office) as deed:
                details = CalibrationDetails(day, until, number, each["laboratory"])
                instruments.add_calibration(deed, instrument_id, details, paper)


def check_instruments(demo: Telling) -> None:
    """A year of checks: of the first tester each month, of the second each quarter."""
    first, second = demo.instruments[:2]
    demo.go_to(demo.today - timedelta(days=345), 9)
    with demo.desk.doing(demo.office) as deed:
        for each in RANGES:
            instruments.add_range(deed, first, each)
        known, others = (
            [reference_checks.add_reference_item(deed, each, replace(item, every_days=days)).id for item in KNOWN]
            for each, days in ((first, 30), (second, 91))
        )
    for month, shown in enumerate(zip(*SHOWN, strict=True)):
        demo.go_to(demo.today - timedelta(days=4 + 30 * (len(SHOWN[0]) - 1 - month)), 8, 10)
        _check(demo, demo.technicians[month % 2], first, known, shown)
    for days, earth, insulation, clock, note in QUARTERLY:
        day = demo.today - timedelta(days=days)
        demo.go_to(day - timedelta(days=max(0, day.weekday() - 4)), *clock)  # a Friday where it would be a weekend
        _check(demo, demo.technicians[1], second, others, (earth, insulation), note)


def _check(demo: Telling, by: Any, instrument_id: int, items: list[int], shown: Sequence[str], note: str = "") -> None:
    readings = {
        item: Reading(Decimal(value), known.unit) for item, value, known in zip(items, shown, KNOWN, strict=True)
    }
    with demo.desk.doing(by) as deed:
        reference_checks.record_reference_checks(deed, instrument_id, readings, note)


def decide_on_old_doubt(demo: Telling) -> None:
    """Keep what the owner decided about the readings that the older failure put in doubt."""
    with demo.desk.reading_only() as session:
        oldest = list_all_doubts(session)[-1]
        instrument_id, doubt = oldest.instrument.id, oldest.doubt
    demo.go_to(doubt.failed_on + timedelta(days=2), 16)
    with demo.desk.doing(demo.owner) as deed:
        decide_on_doubt(deed, instrument_id, doubt.key, DECIDED)
