"""How an instrument stands, as pages say it: a state word, a sentence, and what there is to see to."""

from dataclasses import dataclass
from datetime import date

from app.rules.instrument_standings import Standing, list_overdue_checks, list_worries
from app.store.instruments import InstrumentRow
from app.web.filters import show_date, show_plural

#: From so many days before the end the page says how many are left: a calibration takes weeks to arrange.
WARN_DAYS = 45


@dataclass(frozen=True)
class InstrumentState:
    """word and sentence are those of the calibration; worries stop its use today, overdue checks only warn."""

    word: str
    sentence: str
    worries: tuple[str, ...] = ()
    overdue: tuple[str, ...] = ()
    failed: bool = False
    advice: str = ""

    @property
    def told(self) -> tuple[str, ...]:
        """What the list says besides the calibration: failed and due reference checks."""
        return tuple(worry for worry in self.worries if " against " in worry) + self.overdue


def show_state(row: InstrumentRow, standing: Standing, today: date) -> InstrumentState:
    """How an instrument stands today."""
    word, sentence = _calibration(row, today)
    if not row.active:
        return InstrumentState(word, sentence)
    worries = list_worries(standing, today)
    overdue = list_overdue_checks(standing, today)
    if standing.failed_checks and word != "out of calibration":
        word = "check failed"
    elif overdue and word == "in calibration":
        word = "check due"
    return InstrumentState(word, sentence, worries, overdue, *_advice(standing))


def show_standing(standing: Standing, day: date | None) -> str:
    """How an instrument stands on a day in a few words, for a choice: "calibrated until 4 Mar 2027, check failed"."""
    if standing.failed_on is not None:
        told = f"failed its calibration of {show_date(standing.failed_on)}"
    elif standing.good_until is None:
        told = "no calibration on record"
    else:
        told = f"calibrated until {show_date(standing.good_until)}"
    if standing.failed_checks:
        return f"{told}, check failed"
    return f"{told}, check due" if day is not None and list_overdue_checks(standing, day) else told


def _advice(standing: Standing) -> tuple[bool, str]:
    """Whether it failed something, and what is to be done, by what stops it; a check cannot lift what a calibration
    found.
    """
    failed = standing.failed_on is not None or bool(standing.failed_checks)
    if standing.failed_on is not None:
        return failed, "Have it repaired and calibrated: no check lifts a calibration that failed."
    if standing.failed_checks:
        cause = "Look at its leads, contacts and battery, and check it again with the cause in the note"
        return failed, f"{cause}; if it fails again, send it for calibration."
    return failed, "Send it for calibration."


def _calibration(row: InstrumentRow, today: date) -> tuple[str, str]:
    until = row.good_until
    if not row.active:
        return "retired", "No longer used."
    if until is None:
        failed = row.calibrations[0].calibrated_on if row.calibrations else None
        told = f"Failed its calibration of {show_date(failed)}." if failed else "No calibration on record."
        return "out of calibration", told
    left = (until - today).days
    if left < 0:
        return "out of calibration", f"Ran out on {show_date(until)}, {show_plural(-left, 'day')} ago."
    if left == 0:
        return "due soon", "Runs out today; today it still counts."
    if left <= WARN_DAYS:
        return "due soon", f"Runs out in {show_plural(left, 'day')}, on {show_date(until)}."
    return "in calibration", f"Good until {show_date(until)}."
