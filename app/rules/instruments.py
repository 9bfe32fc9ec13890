"""What is kept about an instrument and its calibrations."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from app.rules.checks import UNITS
from app.rules.uncertainties import MeasuringRange

#: Coverage factors that certificates and specifications use: 1 is a standard uncertainty, 2 is usual, 3 nearly all.
COVERAGE_LEAST, COVERAGE_MOST = Decimal(1), Decimal(4)


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


def check_range(details: MeasuringRange) -> dict[str, str]:
    """What is wrong with a range of an instrument, by field name."""
    mistakes = {}
    if details.unit.dimension != UNITS[details.check].dimension:
        mistakes["unit"] = f"The {details.check.word} is measured in {UNITS[details.check].symbol} or a multiple of it."
    if details.most <= details.least:
        mistakes["most"] = "The range must end above where it begins."
    if details.percent == 0 and details.digits == 0 and details.absolute == 0:
        mistakes["percent"] = "Give the uncertainty: per cent of the reading, digits, a fixed amount, or more than one."
    if details.digits > 0 and details.resolution <= 0:
        mistakes["resolution"] = "Give what one digit stands for, such as 0.01."
    if not COVERAGE_LEAST <= details.coverage <= COVERAGE_MOST:
        mistakes["coverage"] = f"The coverage factor is a number from {COVERAGE_LEAST} to {COVERAGE_MOST}; 2 is usual."
    return mistakes
