"""The limit that holds for one check of one item under one rulebook, with its working and source."""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import lru_cache

from app.rules.checks import ELECTRONIC, UNITS, Check
from app.rules.earth_limits import EarthLimit, limit_earth
from app.rules.equipment import ItemFacts
from app.rules.quantities import Unit, convert_number, describe_bound, describe_number, number_rounded, number_shown
from app.rules.rcds import limit_trip_time
from app.rules.rulebooks import loads
from app.rules.rulebooks.figures import UNCHECKED, Figure, HouseLimit, Row, Rulebook, Status
from app.rules.rulebooks.shared_figures import SEPARATION

#: The point of a charger or power supply that has its own limit.
OUTPUT = "output"
_UNEARTHED = "its metal not being joined to earth (DGUV Information 203-070, 7.2.1)"
_PRODUCT_WANTED = "Enter the product standard of the RCD: without it the strictest limit of all is used."
_FOREIGN = "This rulebook has no figure for the output side; the one of German guidance is shown, and a person decides."


@dataclass(frozen=True)
class Limit:
    """What a reading is judged by. working says how it came about.

    loosest is where the limit could lie at most if a missing fact were known (None where nothing is missing); wants
    is the sentence that asks for that fact. is_sum says that the working can follow an equals sign; remark
    tells of a setting of the rulebook that would change the limit.
    """

    at_most: Decimal | None
    at_least: Decimal | None
    unit: Unit
    working: str
    source: str
    status: Status
    loosest: Decimal | None = None
    wants: str = ""
    is_sum: bool = False
    remark: str = ""

    @property
    def sentence(self) -> str:
        """The whole in words, with what is asked for where a fact is missing."""
        words = describe_limit(self)
        asked = f" {self.wants}" if self.wants and self.unit is not UNITS[Check.LOAD] else ""
        return f"{words[0].upper()}{words[1:]}.{asked}"

    @property
    def text(self) -> str:
        """The bound or bounds with unit, as they are shown: "at most 0.139 Ω"."""
        if self.at_most is None and self.at_least is None:
            return "must not trip"
        if self.at_most is None:
            return f"at least {describe_bounds(self.at_least, None)} {self.unit.symbol}"
        words = "at most " if self.at_least is None else ""
        return f"{words}{describe_bounds(self.at_least, self.at_most)} {self.unit.symbol}"

    @property
    def is_rounded(self) -> bool:
        """Whether the text shows fewer digits than the limit has."""
        return any(
            bound is not None and number_shown(bound, upper=upper) != bound
            for bound, upper in ((self.at_least, False), (self.at_most, True))
        )

    @property
    def whole_working(self) -> str:
        """The working, with the exact figure at its end where the text shows fewer digits."""
        if not self.is_rounded:
            return self.working
        exact = " to ".join(describe_number(each) for each in (self.at_least, self.at_most) if each is not None)
        return f"{self.working}{' = ' if self.is_sum else '; exactly '}{exact} {self.unit.symbol}"


@lru_cache(maxsize=4096)
def limit_for(
    check: Check,
    item: ItemFacts,
    rulebook: Rulebook,
    *,
    multiple: Decimal | None = None,
    temperature_c: Decimal | None = None,
    point: str = "",
) -> Limit | None:
    """Give the limit for this check of this item, None where the rulebook has none (or the answer is pass or fail).

    multiple is that of the rated residual current, for trip times; temperature_c is that of the cord's conductor;
    point "output" means the separation of mains and output of a charger or power supply.
    """
    if check is Check.INSULATION_RESISTANCE and has_output_point(point, item):
        found: Limit | None = _from_separation(rulebook)
    else:
        found = _with_reason(_rulebook_limit(check, item, rulebook, multiple, temperature_c), check, item, rulebook)
    if found is None or check is Check.RCD_TRIP_TIME or not rulebook.house:
        return found
    return _with_house(check, item, found, rulebook.house)


def has_output_point(point: str, item: ItemFacts) -> bool:
    """Say whether a reading was taken from mains to the output side of a charger or power supply."""
    return item.kind in ELECTRONIC and point.strip().casefold() == OUTPUT


def _from_separation(rulebook: Rulebook) -> Limit:
    limit = _from_figure(SEPARATION, at_least=True)
    return limit if rulebook.separation_binds else replace(limit, loosest=Decimal(0), wants=_FOREIGN)


def _with_reason(limit: Limit | None, check: Check, item: ItemFacts, rulebook: Rulebook) -> Limit | None:
    """Say why an item is not judged by its own class, where that makes a difference."""
    if limit is None or item.tested_as is item.construction:
        return limit
    as_marked = _rulebook_limit(check, replace(item, earthed_metal=True), rulebook, None, None)
    return limit if as_marked == limit else replace(limit, working=f"{limit.working}, {_UNEARTHED}")


def _rulebook_limit(
    check: Check, item: ItemFacts, rulebook: Rulebook, multiple: Decimal | None, temperature_c: Decimal | None
) -> Limit | None:
    match check:
        case Check.PROTECTIVE_CONDUCTOR_RESISTANCE:
            return _from_earth(limit_earth(item, rulebook, temperature_c))
        case Check.INSULATION_RESISTANCE:
            return _from_rows(rulebook.insulation, item)
        case Check.PROTECTIVE_CONDUCTOR_CURRENT:
            return _from_rows(rulebook.protective_current, item)
        case Check.TOUCH_CURRENT:
            return _from_rows(rulebook.touch_current, item)
        case Check.SUBSTITUTE_LEAKAGE_CURRENT:
            return _from_rows(rulebook.substitute_current, item)
        case Check.MICROWAVE_LEAKAGE:
            return _from_figure(rulebook.microwave)
        case Check.DIELECTRIC_STRENGTH:
            return _from_figure(rulebook.dielectric)
        case Check.RCD_TRIP_TIME:
            return _from_trip_time(item, multiple)
        case Check.LOAD:
            return _from_rating(item)
        case _:
            return None


def _from_earth(earth: EarthLimit) -> Limit:
    return Limit(
        earth.ohms, None, Unit.OHM, earth.working, earth.source, earth.status,
        loosest=earth.loosest, wants=earth.wants, is_sum=earth.is_sum, remark=earth.remark,
    )  # fmt: skip


def _from_figure(figure: Figure, at_least: bool = False) -> Limit:
    assert isinstance(figure.unit, Unit)
    low, high = (figure.value, None) if at_least else (None, figure.value)
    return Limit(high, low, figure.unit, figure.condition, _source(figure), figure.status)


def _from_rows(rows: tuple[Row, ...], item: ItemFacts) -> Limit | None:
    row = next((row for row in rows if row.applies(item)), None)
    if row is None:
        return None
    limit = _from_figure(row.figure, row.at_least)
    if row.loosest is not None:
        wants = f"Enter {row.wants}: without it the limit cannot be worked out exactly, so the strictest is used."
        return replace(limit, working=row.working or limit.working, loosest=row.loosest.value, wants=wants)
    if row.per_kw is None or item.rated_power_w is None:
        return limit
    power_kw = item.rated_power_w / 1000
    by_power = power_kw * row.per_kw.value
    value = max(row.figure.value, by_power)
    times = f"{describe_number(power_kw)} kW × {describe_number(row.per_kw.value)} {row.per_kw.unit_text}"
    working, is_sum = times, True
    if value > by_power:
        working, is_sum = f"{row.figure.condition}; more than {times}", False
    if row.cap is not None and value > row.cap.value:
        value, is_sum = row.cap.value, False
        working = f"{times}, never above {describe_number(row.cap.value)} {limit.unit.symbol}"
    return replace(limit, at_most=number_rounded(value), working=working, is_sum=is_sum)


def _from_trip_time(item: ItemFacts, multiple: Decimal | None) -> Limit | None:
    if item.rcd is None or multiple is None:
        return None
    trip = limit_trip_time(item.rcd, multiple)
    if trip is None:
        return None
    return Limit(
        trip.at_most_ms, trip.at_least_ms, Unit.MILLISECOND, trip.working, trip.source, trip.status,
        loosest=trip.loosest_ms, wants=_PRODUCT_WANTED if trip.loosest_ms is not None else "",
    )  # fmt: skip


def _from_rating(item: ItemFacts) -> Limit | None:
    """The load an item may draw: its rating and the deviation that its product standard allows upwards."""
    if item.rated_power_w is None or item.rated_power_w <= 0:
        return None
    rated = item.rated_power_w
    if item.heating and not item.motor and rated > loads.HEATING_FROM.value:
        percent, least = loads.HEATING_PERCENT, loads.HEATING_WATT
        more = max(rated * percent.value / 100, least.value)
        allowed = f"{describe_number(percent.value)} % or {describe_number(least.value)} W, the greater"
    else:
        percent = loads.OTHER_PERCENT
        more, allowed = rated * percent.value / 100, f"{describe_number(percent.value)} %"
    return _limit_load(rated + more, UNITS[Check.LOAD], f"rated {describe_number(rated)} W and {allowed}", percent)


def limit_load_current(item: ItemFacts) -> Limit | None:
    """Give the limit of a load told in A: the rated current and its deviation; None where no current is marked."""
    rated, percent = item.rated_current_a, loads.CURRENT_PERCENT
    if rated is None or rated <= 0:
        return None
    allowed = f"rated {describe_number(rated)} A and {describe_number(percent.value)} %"
    return _limit_load(rated + rated * percent.value / 100, Unit.AMP, allowed, percent)


def _limit_load(value: Decimal, unit: Unit, working: str, figure: Figure) -> Limit:
    # No source makes a fail of it, so a load above this is for a person, however far above.
    wants = "The load is above the rating: look for the cause; a person decides whether the item stays in use."
    return Limit(
        number_rounded(value), None, unit, f"{working}; {UNCHECKED}", figure.source, figure.status,
        loosest=Decimal(10) ** 9, wants=wants,
    )  # fmt: skip


def _with_house(check: Check, item: ItemFacts, limit: Limit, house: tuple[HouseLimit, ...]) -> Limit:
    """Lay the firm's own limits over the rulebook's: only where they are stricter, and the strictest of several."""
    rulebook = f"the rulebook says {limit.text}, {limit.working}"
    for own in house:
        if own.check != check or own.construction not in (None, item.construction, item.tested_as):
            continue
        value = convert_number(own.value, own.unit, limit.unit)
        shown = (
            "house limit"
            + (f" since {_day_of(own.since)}" if own.since else "")
            + (f": {own.reason}" if own.reason else "")
        )
        if own.at_least:
            if limit.at_least is None or value > limit.at_least:
                limit = _with_own(limit, shown, rulebook, at_least=value)
            if limit.loosest is not None:
                limit = _with_loosest(limit, max(limit.loosest, value), limit.at_least)
        else:
            if limit.at_most is None or value < limit.at_most:
                limit = _with_own(limit, shown, rulebook, at_most=value)
            if limit.loosest is not None:
                limit = _with_loosest(limit, min(limit.loosest, value), limit.at_most)
    return limit


def _day_of(since: str) -> str:
    day = date.fromisoformat(since)
    return f"{day.day} {day:%b %Y}"


def _with_own(limit: Limit, own: str, rulebook: str, **bound: Decimal) -> Limit:
    return replace(limit, working=f"{own}; {rulebook}", is_sum=False, **bound)  # type: ignore[arg-type]


def _with_loosest(limit: Limit, loosest: Decimal, strictest: Decimal | None) -> Limit:
    if loosest == strictest:
        return replace(limit, loosest=None, wants="")
    return replace(limit, loosest=loosest)


def describe_limit(limit: Limit) -> str:
    """Write the limit with its working and source, to stand before a colon or a full stop."""
    if limit.is_sum:
        return f"{limit.text} ({limit.whole_working})" if limit.is_rounded else f"{limit.text} = {limit.working}"
    return f"{limit.text} ({limit.whole_working}; {limit.source})"


def describe_bounds(at_least: Decimal | None, at_most: Decimal | None) -> str:
    """Write the bound or both bounds of a limit as they are shown: "0.139", "130 to 500"."""
    told = [(at_least, False), (at_most, True)]
    return " to ".join(describe_bound(bound, upper=upper) for bound, upper in told if bound is not None)


def number_spare(margin: Decimal, at_least: Decimal | None, at_most: Decimal | None) -> Decimal:
    """Give what a reading has to spare against its limit as it is shown, from its margin to the exact one; the margin
    itself where the two would say something else. Below zero outside the limit.
    """
    if (at_least is None) == (at_most is None):
        return margin
    if at_most is not None:
        spare = margin - (at_most - number_shown(at_most, upper=True))
    else:
        spare = margin - (number_shown(at_least or Decimal(0), upper=False) - (at_least or Decimal(0)))
    return spare if (spare > 0) == (margin > 0) and (spare < 0) == (margin < 0) else margin


def _source(figure: Figure) -> str:
    return f"{figure.source}, {figure.edition}" if figure.edition else figure.source
