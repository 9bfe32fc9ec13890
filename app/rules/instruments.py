"""What is kept about an instrument and its calibrations."""

from dataclasses import dataclass
from datetime import date


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
    """One calibration. good_until is the last day on which the instrument counts as calibrated."""

    calibrated_on: date
    good_until: date
    certificate_number: str
    laboratory: str = ""


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
