"""The instruments of the demo: calibrations with their certificates, ranges, and a year of monthly reference checks."""

from datetime import timedelta
from decimal import Decimal
from typing import Any, Protocol

from app.actions import instruments, reference_checks
from app.rules.checks import Check
from app.rules.instruments import CalibrationDetails
from app.rules.quantities import Reading, Unit
from app.rules.reference_checks import Allowed, ReferenceDetails
from app.rules.uncertainties import MeasuringRange
from demo_data.calibration_papers import invent_calibration_paper

CURRENT = Check.PROTECTIVE_CONDUCTOR_CURRENT
EARTH, INSULATION = Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Check.INSULATION_RESISTANCE
KNOWN = (
    ReferenceDetails("1 Ω resistor, check box", EARTH, Decimal(1), Unit.OHM, Decimal(5)),
    ReferenceDetails("2 MΩ resistor, check box", INSULATION, Decimal(2), Unit.MEGOHM, Decimal("0.1"), Allowed.ABSOLUTE),
)
#: What the first tester shows month by month: the one creeps up a little, the other only scatters.
SHOWN = (
    "1.002 1.001 1.004 1.006 1.005 1.009 1.010 1.013 1.012 1.016 1.018 1.021".split(),
    "2.01 1.99 2.00 2.02 1.98 2.00 2.01 1.99 2.01 2.00 1.98 2.00".split(),
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


def check_monthly(demo: Telling) -> None:
    """A year of monthly checks of the first tester, and the newest one of the second."""
    first, second = demo.instruments[:2]
    demo.go_to(demo.today - timedelta(days=345), 9)
    with demo.desk.doing(demo.office) as deed:
        for each in RANGES:
            instruments.add_range(deed, first, each)
        known = [reference_checks.add_reference_item(deed, first, details).id for details in KNOWN]
        other = reference_checks.add_reference_item(deed, second, KNOWN[0]).id
    for month, shown in enumerate(zip(*SHOWN, strict=True)):
        demo.go_to(demo.today - timedelta(days=4 + 30 * (len(SHOWN[0]) - 1 - month)), 8, 10)
        with demo.desk.doing(demo.technicians[month % 2]) as deed:
            readings = {
                item: Reading(Decimal(value), details.unit)
                for item, value, details in zip(known, shown, KNOWN, strict=True)
            }
            reference_checks.record_reference_checks(deed, first, readings)
    demo.go_to(demo.today - timedelta(days=11), 8, 20)
    with demo.desk.doing(demo.technicians[1]) as deed:
        reference_checks.record_reference_checks(deed, second, {other: Reading(Decimal("0.997"), Unit.OHM)})
