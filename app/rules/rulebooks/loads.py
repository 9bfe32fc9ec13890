"""What an item may draw from its supply beyond its rating, the same under every rulebook here."""

from decimal import Decimal

from app.rules.quantities import Unit
from app.rules.rulebooks.figures import Figure, Status

_HOUSEHOLD = "EN 60335-1, 10.1"
_BY_CURRENT = "EN 60335-1, 10.2"
_NOTE = "A load above this is for a person to weigh: no source makes a fail of it."


def _figure(key: str, value: str, unit: Unit | str, condition: str, source: str = _HOUSEHOLD) -> Figure:
    return Figure(key, Decimal(value), unit, condition, source, "", Status.MEMORY, _NOTE)


HEATING_FROM = _figure(
    "load.heating.from", "200", Unit.WATT, "rated power above which heating without a motor has the narrower deviation"
)
HEATING_PERCENT = _figure(
    "load.heating.percent", "5", "%", "heating, load above the rated power, or the one in watts, whichever is more"
)
HEATING_WATT = _figure(
    "load.heating.watt", "20", Unit.WATT, "heating, load above the rated power, or the one in %, whichever is more"
)
OTHER_PERCENT = _figure("load.other.percent", "20", "%", "motors, and all up to 200 W, load above the rated power")
CURRENT_PERCENT = _figure(
    "load.current.percent", "20", "%", "load above the rated current, the widest of the allowed deviations", _BY_CURRENT
)

FIGURES: tuple[Figure, ...] = (HEATING_FROM, HEATING_PERCENT, HEATING_WATT, OTHER_PERCENT, CURRENT_PERCENT)
