"""What is kept about an instrument and its calibrations."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from app.rules.checks import UNITS
from app.rules.uncertainties import MeasuringRange


@dataclass(frozen=True)
class InstrumentDetails:
    name: str
    serial: str
    make: str = ""
    model: str = ""
    notes: str = ""
    active: bool = True


@dataclass(frozen=True)
class CalibrationDetails:
    """One calibration. good_until is the last day on which the instrument counts as calibrated; passed is False when
    the laboratory found it out of tolerance as it came.
    """

    calibrated_on: date
    good_until: date
    certificate_number: str
    laboratory: str = ""
    passed: bool = True


def check_instrument(details: InstrumentDetails) -> dict[str, str]:
    """What is wrong, by field name."""
    mistakes = {} if details.name.strip() else {"name": "Give the instrument a name that people here know it by."}
    if not details.serial.strip():
        mistakes["serial"] = "Give the serial number; the certificate must identify the instrument."
    return mistakes


def check_calibration(details: CalibrationDetails, today: date) -> dict[str, str]:
    """What is wrong, by field name."""
    mistakes = {}
    if details.calibrated_on > today:
        mistakes["calibrated_on"] = "This day has not come yet."
    if details.good_until <= details.calibrated_on:
        mistakes["good_until"] = "This must be after the day of calibration."
    if not details.certificate_number.strip():
        mistakes["certificate_number"] = "Give the number of the calibration certificate."
    return mistakes


def next_doubt(calibrations: Sequence[tuple[date, bool]]) -> tuple[date | None, date] | None:
    """The span of days whose records are in doubt after the newest failed calibration, or nothing.

    calibrations are (day, passed). The span begins with the day of the last good one before (None: from the first
    record on) and ends with the day of the failure.
    """
    failed = max((day for day, passed in calibrations if not passed), default=None)
    if failed is None:
        return None
    return max((day for day, passed in calibrations if passed and day < failed), default=None), failed


def check_range(details: MeasuringRange) -> dict[str, str]:
    """What is wrong with a range of an instrument, by field name."""
    mistakes = {}
    if details.unit.dimension != UNITS[details.check].dimension:
        mistakes["unit"] = f"The {details.check.word} is measured in {UNITS[details.check].symbol} or a multiple of it."
    if details.most <= details.least:
        mistakes["most"] = "The range must end above where it begins."
    if details.percent == 0 and details.digits == 0:
        mistakes["percent"] = "Give the uncertainty: so many per cent of the reading, so many digits, or both."
    if details.resolution <= 0:
        mistakes["resolution"] = "Give what one digit stands for, such as 0.01."
    return mistakes
