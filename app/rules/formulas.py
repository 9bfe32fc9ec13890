"""The limits of a rulebook that are worked out from an item's facts, as formulas in words, with the rulebook's own
figures in them.
"""

from dataclasses import dataclass

from app.rules.quantities import describe_number
from app.rules.rulebooks.figures import EarthByCord, EarthBySteps, Figure, Row, Rulebook
from app.rules.rulebooks.loads import HEATING_FROM, HEATING_PERCENT, HEATING_WATT, OTHER_PERCENT


@dataclass(frozen=True)
class Formula:
    title: str
    text: str


def list_formulas(rulebook: Rulebook) -> tuple[Formula, ...]:
    """List the formulas of a rulebook, as it is read by its settings."""
    return (*_earth(rulebook), *_currents(rulebook), _load())


def _earth(rulebook: Rulebook) -> tuple[Formula, ...]:
    title = "Protective conductor resistance"
    earth = rulebook.earth
    if isinstance(earth, EarthByCord):
        text = (
            f"At most {_told(earth.base)} + R. R is the length of the cord times the resistance of its conductor per "
        )
        text += "metre at 20 °C, from the table of conductors; without a cord R is 0."
        return (Formula(title, text),)
    return (Formula(title, _steps(earth, rulebook)), Formula(f"{title}, larger cords", _calculated(earth, rulebook)))


def _steps(earth: EarthBySteps, rulebook: Rulebook) -> str:
    counted = "whole" if rulebook.setting("step-rounding") == "whole" else "started"
    text = f"At most {_told(earth.base)} up to {_told(earth.first_length)} of cord, + {_told(earth.step)} for each "
    text += (
        f"{counted} {_told(earth.step_length)} beyond it, never above {_told(earth.most)}. It holds for cords up to "
    )
    return text + f"{_told(earth.step_csa)}."


def _calculated(earth: EarthBySteps, rulebook: Rulebook) -> str:
    text = f"Above {_told(earth.step_csa)}: at most length ÷ ({_told(earth.conductivity)} × conductor size)"
    if rulebook.setting("contact-allowance") == "with":
        return f"{text} + {_told(earth.contacts)} for contacts."
    return f"{text}, without an allowance for contacts."


def _currents(rulebook: Rulebook) -> tuple[Formula, ...]:
    row = next((each for each in rulebook.protective_current if each.per_kw is not None), None)
    return () if row is None else (Formula("Leakage current of heating, Class I", _by_power(row)),)


def _by_power(row: Row) -> str:
    assert row.per_kw is not None
    text = f"At most rated power × {_told(row.per_kw)}, but not below {_told(row.figure)}"
    return f"{text} and never above {_told(row.cap)}." if row.cap is not None else f"{text}."


def _load() -> Formula:
    text = f"Up to the rated power + {_told(OTHER_PERCENT)}; heating without a motor above {_told(HEATING_FROM)}: "
    text += f"+ {_told(HEATING_PERCENT)} or {_told(HEATING_WATT)}, the greater. Above it a person decides."
    return Formula("Load", text)


def _told(figure: Figure) -> str:
    return f"{describe_number(figure.value)} {figure.unit_text}"
