"""What a failed check means for the people who use the item, in words for somebody who is not of the trade.

Common practice, no source: a fault that lets current reach a person, or damage that can bare live parts, is urgent.
"""

from dataclasses import dataclass

from app.rules.checks import Check


@dataclass(frozen=True)
class Danger:
    """sentence says what was found and what can come of it; urgent is True where it could hurt somebody."""

    sentence: str
    urgent: bool


_SHOCK = "Somebody touching it could get an electric shock."
_DANGERS: dict[str, Danger] = {
    Check.VISUAL: Danger("It is damaged, or something about it is not right.", True),
    Check.PROTECTIVE_CONDUCTOR_RESISTANCE: Danger(
        "Its safety earth is not good enough: if a fault comes, the metal on the outside can become live.", True
    ),
    Check.INSULATION_RESISTANCE: Danger(f"The insulation inside has grown weak. {_SHOCK}", True),
    Check.PROTECTIVE_CONDUCTOR_CURRENT: Danger(f"It leaks too much current to earth. {_SHOCK}", True),
    Check.TOUCH_CURRENT: Danger(f"Too much current can be felt on the outside. {_SHOCK}", True),
    Check.SUBSTITUTE_LEAKAGE_CURRENT: Danger(f"It leaks too much current. {_SHOCK}", True),
    Check.POLARITY: Danger(
        "Live and neutral are crossed, or a core is broken: parts can stay live when it is switched off.", True
    ),
    Check.RCD_TRIP_TIME: Danger(
        "Its safety switch (the RCD) does not cut off as fast as it must, so it may not protect anybody.", True
    ),
    Check.DIELECTRIC_STRENGTH: Danger(f"The insulation broke down under test. {_SHOCK}", True),
    Check.MICROWAVE_LEAKAGE: Danger("Too much microwave energy comes out around the door.", True),
    Check.FUNCTIONAL: Danger("It does not work as it should.", False),
    Check.LOAD: Danger("It takes more power than it is made for, or much less.", False),
}
_OTHERWISE = Danger("It is not put together as it must be.", False)


def describe_danger(check: str) -> Danger:
    """Describe what the failure of a check means; for an unknown code, that something about the item is wrong."""
    return _DANGERS.get(check, _OTHERWISE)
