"""A firm's own limits, stricter than the rulebook, for all customers or for one: what is kept, and when one holds."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from app.rules.checks import UNITS, Check
from app.rules.equipment import Construction
from app.rules.quantities import Unit, convert_number
from app.rules.rulebooks import HouseLimit

#: Checks for which more is better; for the others less is.
AT_LEAST = (Check.INSULATION_RESISTANCE,)
#: Trip times depend on the multiple and the product, the load on the rating: no one limit would be right.
LIMITED = tuple(check for check in UNITS if check not in (Check.RCD_TRIP_TIME, Check.LOAD, Check.DIELECTRIC_STRENGTH))


@dataclass(frozen=True)
class HouseLimitDetails:
    """customer_id None: for every customer; construction None: for every class. value is in the check's own unit."""

    check: Check
    value: Decimal
    reason: str
    valid_from: date
    customer_id: int | None = None
    construction: Construction | None = None

    @property
    def unit(self) -> Unit:
        return UNITS[self.check]


def check_house_limit(details: HouseLimitDetails, figures: Iterable[tuple[Decimal, Unit]]) -> dict[str, str]:
    """What is wrong, by field name. figures are the rulebooks' own limits of this check: one that is looser than all of
    them could never hold.
    """
    mistakes = {} if details.reason.strip() else {"reason": "Say why; the certificate shows it beside the limit."}
    limits = [convert_number(value, unit, details.unit) for value, unit in figures]
    least = details.check in AT_LEAST
    if limits and (details.value <= min(limits) if least else details.value >= max(limits)):
        bound = f"{'more' if least else 'less'} than {min(limits) if least else max(limits):f} {details.unit.symbol}"
        mistakes["value"] = f"A house limit is stricter than the rulebook. Give {bound}."
    return mistakes


def list_house_limits_on(rows: Iterable[HouseLimitDetails], day: date) -> tuple[HouseLimit, ...]:
    """Give the limits that hold on a day as the rules use them."""
    return tuple(
        HouseLimit(
            check=row.check.value,
            value=row.value,
            unit=row.unit,
            at_least=row.check in AT_LEAST,
            reason=row.reason,
            since=row.valid_from.isoformat(),
            construction=row.construction.value if row.construction else None,
        )
        for row in rows
        if row.valid_from <= day
    )
