"""When an item is next due, and the first interval that HSE's tables suggest for it.

INDG236 for places of low risk and HSG107 (3rd edition, 2013) for the others. No interval is set by law: these are
where to begin, and a person decides. What falls due is the earlier of the combined test and the formal visual
inspection; inspections more often than once a year are the place's own round and no visit of a tester.
"""

import calendar
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from app.rules.equipment import Construction, Environment, ItemFacts, Kind, Use
from app.rules.rulebooks.figures import Status

#: A formal visual inspection of its own is put on the calendar from here on. What HSE wants more often (weekly,
#: monthly, after 3 or 6 months) is done by people of the place, trained for it; the figure is ours.
VISIT_MONTHS_LEAST = 12


class FallsDue(StrEnum):
    """What has to be done on the day on which an item is next due."""

    TEST = "combined inspection and test"
    VISUAL = "formal visual inspection"


@dataclass(frozen=True)
class IntervalAdvice:
    """A suggested first interval. months is for the combined inspection and test, None where none is suggested;
    visual_months and test_months are the ranges of the table (least, most); user_check says how often the user looks.
    key names the line of ROWS, remark says why that line where HSE has none of its own for the place.
    """

    months: int | None
    sentence: str
    source: str
    status: Status
    user_check: str = ""
    visual_months: tuple[int, int] | None = None
    test_months: tuple[int, int] | None = None
    before_first_use: bool = False
    key: str = ""
    remark: str = ""

    @property
    def falls_due(self) -> FallsDue | None:
        """What falls due first: of the visual inspection's range the longer end counts, since more often than the
        tables say helps nobody. A combined test holds a visual inspection, so where both meet it is the test.
        """
        longest = self.visual_months[1] if self.visual_months else 0
        if longest and (self.months is None or VISIT_MONTHS_LEAST <= longest < self.months):
            return FallsDue.VISUAL
        return FallsDue.TEST if self.months else None

    @property
    def due_months(self) -> int | None:
        """The months after which something is due, and it is begun with; None where nothing falls due by months."""
        if self.falls_due is FallsDue.VISUAL and self.visual_months is not None:
            return self.visual_months[1]
        return self.months

    @property
    def longest_months(self) -> int | None:
        """The upper end of the table's range for what falls due first; None where nothing does."""
        if self.falls_due is FallsDue.TEST and self.test_months is not None:
            return max(self.test_months[1], self.months or 0)
        return self.due_months


@dataclass(frozen=True)
class IntervalRow:
    """One line of a table of intervals. months is what Ohmstead starts from with the combined test: the shorter end of
    a range, and the longest time where the table gives no other ("up to 5 years").
    """

    key: str
    title: str
    user_check: str
    visual: str
    visual_months: tuple[int, int] | None
    test: str
    test_months: tuple[int, int] | None
    months: int | None
    source: str
    status: Status
    before_first_use: bool = False


_LOW = "HSE INDG236"
_HSG = "HSE HSG107"
_SEEN, _MEMORY = Status.SEEN, Status.MEMORY

ROWS: dict[str, IntervalRow] = {
    row.key: row
    for row in (
        IntervalRow(
            "battery", "Battery operated or extra-low voltage", "none",
            "none", None,
            "none", None, None, _LOW, _SEEN,
        ),
        IntervalRow(
            "it-double", "Office IT and printers, double insulated", "none",
            "2 to 4 years", (24, 48),
            "none", None, None, _LOW, _SEEN,
        ),
        IntervalRow(
            "it-earthed", "Office IT and printers, earthed", "none",
            "2 to 4 years", (24, 48),
            "up to 5 years", (0, 60), 60, _LOW, _SEEN,
        ),
        IntervalRow(
            "double-moved", "Double insulated, not hand-held, moved occasionally", "none",
            "2 to 4 years", (24, 48),
            "none", None, None, _LOW, _SEEN,
        ),
        IntervalRow(
            "double-held", "Double insulated, hand-held", "by the user",
            "6 months to 1 year", (6, 12),
            "none", None, None, _LOW, _SEEN,
        ),
        IntervalRow(
            "earthed", "Earthed (Class I)", "by the user",
            "6 months to 1 year", (6, 12),
            "1 to 2 years", (12, 24), 12, _LOW, _SEEN,
        ),
        IntervalRow(
            "leads", "Cords, plugs and extension leads", "by the user",
            "6 months to 4 years, as what they serve", (6, 48),
            "1 to 5 years, as what they serve", (12, 60), 12, _LOW, _MEMORY,
        ),
        IntervalRow(
            "public", "Used by the public", "by staff",
            "3 months", (3, 3),
            "1 year", (12, 12), 12, _HSG, _SEEN,
        ),
        IntervalRow(
            "light-industrial", "Light industrial", "by the user",
            "before first use, then 6 months", (6, 6),
            "6 to 12 months", (6, 12), 6, _HSG, _SEEN, True,
        ),
        IntervalRow(
            "heavy-industrial", "Heavy industrial, high risk of damage", "daily",
            "weekly", (0, 0),
            "6 to 12 months", (6, 12), 6, _HSG, _SEEN,
        ),
        IntervalRow(
            "construction-110", "Construction, 110 V", "weekly",
            "monthly", (1, 1),
            "before first use on site, then 3 months", (3, 3), 3, _HSG, _SEEN, True,
        ),
        IntervalRow(
            "construction-230", "Construction, 230 V", "daily or every shift",
            "weekly", (0, 0),
            "before first use on site, then monthly", (1, 1), 1, _HSG, _SEEN, True,
        ),
        IntervalRow(
            "construction-rcd", "Construction, portable RCD", "daily or every shift",
            "weekly", (0, 0),
            "before first use on site, then monthly", (1, 1), 1, _HSG, _MEMORY, True,
        ),
        IntervalRow(
            "construction-office", "Construction, site office", "monthly",
            "6 months", (6, 6),
            "before first use on site, then yearly", (12, 12), 12, _HSG, _MEMORY, True,
        ),
        IntervalRow(
            "hire", "Equipment hire", "by the hirer",
            "before issue and after return", (0, 0),
            "before issue", (0, 0), None, _HSG, _SEEN, True,
        ),
    )
}  # fmt: skip

_LOW_RISK = (Environment.OFFICE, Environment.SHOP, Environment.HOTEL, Environment.CARE_HOME)
_LEAD_KINDS = (Kind.EXTENSION_LEAD, Kind.MULTIWAY_LEAD, Kind.DETACHABLE_CORD, Kind.RCD_LEAD, Kind.THREE_PHASE_LEAD)
_NO_SCHOOLS = "HSE has no row for schools; the one for places of low risk is used"
_NO_RCDS = "HSE has no row for a portable RCD here; it stands in a supply as a lead does, so the row for leads is used"


def suggest_interval(item: ItemFacts, environment: Environment) -> IntervalAdvice:
    """Suggest the first interval for an item in a place of this kind, from HSE's tables; a person decides."""
    row, remark = _row(item, environment)
    when = (
        "no combined inspection and test suggested"
        if row.test == "none"
        else f"combined inspection and test {row.test}"
    )
    advice = IntervalAdvice(
        row.months, "", row.source, row.status,
        row.user_check, row.visual_months, row.test_months, row.before_first_use, row.key, remark,
    )  # fmt: skip
    parts = [f"{row.title}: {when}", f"formal visual inspection {row.visual}", f"user check {row.user_check}"]
    sentence = "; ".join(part for part in [*parts, _first(advice), remark] if part)
    named = row.source + (", from memory" if row.status is Status.MEMORY else "")
    return replace(advice, sentence=f"{sentence} ({named}). The dutyholder decides and remains responsible.")


def describe_span(months: int) -> str:
    """Say a number of months: "1 month", "12 months"."""
    return "1 month" if months == 1 else f"{months} months"


def _first(advice: IntervalAdvice) -> str:
    if advice.due_months is None:
        return ""
    visual = ", for the formal visual inspection" if advice.falls_due is FallsDue.VISUAL else ""
    return f"begin with {describe_span(advice.due_months)}{visual}"


def _row(item: ItemFacts, environment: Environment) -> tuple[IntervalRow, str]:
    if environment is Environment.HIRE:
        return ROWS["hire"], ""
    if item.extra_low_voltage or item.construction is Construction.CLASS_III:
        return ROWS["battery"], ""
    if environment is Environment.CONSTRUCTION:
        return ROWS[_construction_key(item)], ""
    if environment is Environment.HEAVY_INDUSTRIAL:
        return ROWS["heavy-industrial"], ""
    if environment is Environment.LIGHT_INDUSTRIAL:
        return ROWS["light-industrial"], ""
    if environment is Environment.KITCHEN:
        return ROWS["light-industrial"], "HSE has no row for commercial kitchens; the one for light industry is used"
    if environment is Environment.PUBLIC:
        return ROWS["public"], ""
    remarks = (_NO_RCDS if item.kind is Kind.PORTABLE_RCD else "", "" if environment in _LOW_RISK else _NO_SCHOOLS)
    return ROWS[_low_risk_key(item)], "; ".join(remark for remark in remarks if remark)


def _construction_key(item: ItemFacts) -> str:
    if item.use is Use.IT:
        return "construction-office"
    if item.kind is Kind.PORTABLE_RCD:
        return "construction-rcd"
    return "construction-110" if item.supply == "110-centre-tapped" else "construction-230"


def _low_risk_key(item: ItemFacts) -> str:
    if item.kind in _LEAD_KINDS or item.kind is Kind.PORTABLE_RCD:
        return "leads"
    earthed = item.construction is Construction.CLASS_I
    if item.use is Use.IT:
        return "it-earthed" if earthed else "it-double"
    if earthed:
        return "earthed"
    return "double-held" if item.use is Use.HAND_HELD else "double-moved"


def next_due(tested_on: date, months: int | None) -> date | None:
    """Give the date so many calendar months after a test, clipped to the month's end; None where months is None."""
    if months is None:
        return None
    count = tested_on.year * 12 + tested_on.month - 1 + months
    year, month = divmod(count, 12)
    return date(year, month + 1, min(tested_on.day, calendar.monthrange(year, month + 1)[1]))


def judge_due(advice: IntervalAdvice, tested_on: date | None, due_on: date | None) -> FallsDue | None:
    """Say what has to be done on the day on which something is due, counted from the day of the last test: the formal
    visual inspection as long as HSE's row does not have the combined test by then, or has none. None without a day.
    """
    if due_on is None:
        return None
    if advice.falls_due is not FallsDue.VISUAL:
        return FallsDue.TEST
    latest = next_due(tested_on, advice.due_months) if tested_on else None
    return FallsDue.TEST if advice.months and latest is not None and due_on > latest else FallsDue.VISUAL


def describe_due(advice: IntervalAdvice, months: int | None) -> str:
    """Say in sentences which of the two falls due with an interval of so many months, and when the other does."""
    row = ROWS[advice.key]
    if advice.key == "hire":
        return "HSE's row has hired equipment inspected and tested before each issue, whenever that is."
    if months is None or row.visual_months is None:
        return ""
    if advice.falls_due is FallsDue.VISUAL and (not advice.months or months <= row.visual_months[1]):
        then = (
            f" first; HSE's row has the combined test {row.test}"
            if advice.months
            else "; HSE's row has no combined test"
        )
        return f"A formal visual inspection falls due{then}. The sheet of a visit asks for the checks of both."
    if months <= row.visual_months[1]:
        return "A combined inspection and test falls due; it holds the formal visual inspection."
    return (
        f"A combined inspection and test falls due. Before that HSE's row has formal visual inspections "
        f"({row.visual}): the dutyholder's own round, which the list of what is due does not hold."
    )
