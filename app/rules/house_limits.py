"""A firm's own limits, stricter than the rulebook, for all customers or for one: what is kept, when one holds, and for
what it makes a difference.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from app.rules.checks import UNITS, Check
from app.rules.equipment import Construction
from app.rules.limit_questions import Question, list_limits_asked, list_stricter
from app.rules.quantities import Unit
from app.rules.rulebooks import HouseLimit, Rulebook

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

    @property
    def limit(self) -> HouseLimit:
        """The limit as the rules use it."""
        return HouseLimit(
            check=self.check.value,
            value=self.value,
            unit=self.unit,
            at_least=self.check in AT_LEAST,
            reason=self.reason,
            since=self.valid_from.isoformat(),
            construction=self.construction.value if self.construction else None,
        )


@dataclass(frozen=True)
class Effect:
    """For which usual items a house limit is stricter than a rulebook, and for which it changes nothing."""

    rulebook: Rulebook
    stricter: tuple[Question, ...]
    unchanged: tuple[Question, ...]

    @property
    def sentence(self) -> str:
        """For what it matters, in words."""
        if not self.stricter:
            return "nothing: it is never stricter"
        if not self.unchanged:
            return "everything"
        return "; ".join(each.words for each in self.stricter)


def list_effects(details: HouseLimitDetails, rulebooks: Iterable[Rulebook]) -> tuple[Effect, ...]:
    """List what a house limit changes under each rulebook, by the rules that judge; other house limits do not count."""
    found = []
    for rulebook in rulebooks:
        stricter = list_stricter(details.check, rulebook, rulebook.with_house((details.limit,)), details.construction)
        asked = [question for question, _ in list_limits_asked(details.check, rulebook, details.construction)]
        found.append(Effect(rulebook, stricter, tuple(each for each in asked if each not in stricter)))
    return tuple(found)


def check_house_limit(details: HouseLimitDetails, rulebooks: Iterable[Rulebook]) -> dict[str, str]:
    """What is wrong, by field name. rulebooks are those in use where the limit would hold: one that is stricter than
    none of them would change nothing.
    """
    mistakes = {} if details.reason.strip() else {"reason": "Say why; the certificate shows it beside the limit."}
    books = tuple(rulebooks)
    if books and not any(effect.stricter for effect in list_effects(details, books)):
        names = " and ".join(book.title for book in books)
        least = details.check in AT_LEAST
        limits = [
            bound
            for book in books
            for _, limit in list_limits_asked(details.check, book, details.construction)
            if (bound := limit.at_least if least else limit.at_most) is not None
        ]
        if not limits:
            mistakes["value"] = f"{names} has no limit of this check for this class, so none can be stricter."
        else:
            edge = min(limits) if least else max(limits)
            wanted = f"{'more' if least else 'less'} than {edge.normalize():f} {details.unit.symbol}"
            mistakes["value"] = f"A house limit is stricter than the rulebook ({names}). Give {wanted}."
    return mistakes


def list_house_limits_on(rows: Iterable[HouseLimitDetails], day: date) -> tuple[HouseLimit, ...]:
    """Give the limits that hold on a day as the rules use them."""
    return tuple(row.limit for row in rows if row.valid_from <= day)
