"""What is kept about an instrument and its calibrations."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from app.rules.checks import UNITS
from app.rules.intervals import next_due
from app.rules.quantities import convert_number
from app.rules.uncertainties import MeasuringRange

#: Coverage factors that certificates and specifications use: 1 is a standard uncertainty, 2 is usual, 3 nearly all.
COVERAGE_LEAST, COVERAGE_MOST = Decimal(1), Decimal(4)
#: Instruments of this work are usually calibrated every one to three years (common practice, no source); a longer time
#: is more often a slip of the pen, so it is asked about.
LONG_MONTHS = 36
PERCENT_MOST = Decimal(100)


class AsFound(StrEnum):
    """How the laboratory found the instrument as it came, before it adjusted anything."""

    UNSAID = ""
    WITHIN = "within"
    OUTSIDE = "outside"


class CalibrationResult(StrEnum):
    """What a calibration certificate says: how the instrument was found, and how it was left."""

    GOOD = "good"
    ADJUSTED = "adjusted"
    GOOD_AS_LEFT = "good-as-left"
    FAILED = "failed"

    @property
    def word(self) -> str:
        return {
            "good": "In tolerance as found and as left",
            "adjusted": "Out of tolerance as found, adjusted, in tolerance as left",
            "good-as-left": "In tolerance as left; it does not say how it was found",
            "failed": "Out of tolerance, and not put right",
        }[self.value]

    @property
    def told(self) -> tuple[AsFound, bool]:
        """How it was found, and whether it may be used as it was left."""
        return {
            CalibrationResult.GOOD: (AsFound.WITHIN, True),
            CalibrationResult.ADJUSTED: (AsFound.OUTSIDE, True),
            CalibrationResult.GOOD_AS_LEFT: (AsFound.UNSAID, True),
            CalibrationResult.FAILED: (AsFound.OUTSIDE, False),
        }[self]


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
    it is out of tolerance as it was left. Found outside tolerance and left within it casts doubt on what was measured
    before, and the instrument may be used again.
    """

    calibrated_on: date
    good_until: date
    certificate_number: str
    laboratory: str = ""
    passed: bool = True
    as_found: AsFound = AsFound.UNSAID


def check_instrument(details: InstrumentDetails) -> dict[str, str]:
    """What is wrong, by field name."""
    mistakes = {} if details.name.strip() else {"name": "Give the instrument a name that people here know it by."}
    if not details.serial.strip():
        mistakes["serial"] = "Give the serial number; the certificate must identify the instrument."
    return mistakes


def check_calibration(details: CalibrationDetails, today: date, sure: bool = False) -> dict[str, str]:
    """What is wrong, by field name. sure: somebody has confirmed that it holds for longer than usual."""
    mistakes = {}
    if details.calibrated_on > today:
        mistakes["calibrated_on"] = "This day has not come yet."
    elif not sure and details.good_until > (next_due(details.calibrated_on, LONG_MONTHS) or date.max):
        years = LONG_MONTHS // 12
        mistakes["sure"] = (
            f"More than {years} years after the calibration is unusual. Look again; tick this if it is so."
        )
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
    if details.percent > PERCENT_MOST:
        mistakes["percent"] = f"More than {PERCENT_MOST} % of the reading is no measurement."
    elif details.percent == 0 and details.digits == 0 and details.absolute == 0:
        mistakes["percent"] = "Give the uncertainty: per cent of the reading, digits, a fixed amount, or more than one."
    if details.digits > 0 and details.resolution <= 0:
        mistakes["resolution"] = "Give what one digit stands for, such as 0.01."
    if not COVERAGE_LEAST <= details.coverage <= COVERAGE_MOST:
        mistakes["coverage"] = f"The coverage factor is a number from {COVERAGE_LEAST} to {COVERAGE_MOST}; 2 is usual."
    return mistakes


def has_same_ends(one: MeasuringRange, other: MeasuringRange) -> bool:
    """Whether two ranges are of one function and end at the same values; ranges that only overlap are usual."""
    if one.check is not other.check or one.unit.dimension != other.unit.dimension:
        return False
    ends = [(each.least, each.most) for each in (one, other)]
    least, most = (convert_number(value, other.unit, one.unit) for value in ends[1])
    return (least, most) == ends[0]
