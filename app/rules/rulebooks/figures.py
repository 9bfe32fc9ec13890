"""What a rulebook is made of: figures with unit, condition, source, edition and status, and the rows that choose one
for an item. The numbers themselves stand in the modules beside this one.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import StrEnum

from app.rules.equipment import Construction, ItemFacts
from app.rules.quantities import Unit, describe_number


class Status(StrEnum):
    """Whether the figure was read in the named source, or is known and not yet looked up."""

    SEEN = "seen"
    MEMORY = "memory"

    @property
    def word(self) -> str:
        return "seen in the source" if self == "seen" else "from memory, not yet checked"


@dataclass(frozen=True)
class Figure:
    """One number of a rulebook. unit is a Unit, or the text of a rate such as "mA/kW"."""

    key: str
    value: Decimal
    unit: Unit | str
    condition: str
    source: str
    edition: str
    status: Status = Status.SEEN
    note: str = ""

    @property
    def unit_text(self) -> str:
        return self.unit.symbol if isinstance(self.unit, Unit) else self.unit


#: Beside a figure of status memory in the words of a limit: those words are on customers' papers too.
UNCHECKED = "figure not yet checked"

Applies = Callable[[ItemFacts], bool]


@dataclass(frozen=True)
class Row:
    """One line of a table of limits: the first row that applies to an item gives its limit.

    With per_kw the limit is the greater of figure and rated power times per_kw, never above cap. loosest is the
    furthest the limit could be if a missing fact (named by wants) were known; None where nothing is missing. working
    stands in for the figure's condition where that would claim the missing fact.
    """

    applies: Applies
    figure: Figure
    at_least: bool = False
    per_kw: Figure | None = None
    cap: Figure | None = None
    wants: str = ""
    loosest: Figure | None = None
    working: str = ""


@dataclass(frozen=True)
class EarthByCord:
    """Protective conductor resistance at most base plus the resistance of the cord."""

    base: Figure


@dataclass(frozen=True)
class EarthBySteps:
    """Protective conductor resistance by steps of cord length; above step_csa calculated from length and size.

    contacts is the allowance for contacts on top of a calculated value; fixed is for a fixed connection without a
    cord. Two settings of the rulebook say how steps are counted and whether the allowance is added.
    """

    base: Figure
    first_length: Figure
    step: Figure
    step_length: Figure
    most: Figure
    step_csa: Figure
    step_current: Figure
    conductivity: Figure
    contacts: Figure
    fixed: Figure


@dataclass(frozen=True)
class HouseLimit:
    """A firm's or customer's own limit, never looser than the rulebook: one bound, for one check, with its reason.

    check is the check's value; where None it holds for every item, else for one construction class.
    """

    check: str
    value: Decimal
    unit: Unit
    at_least: bool
    reason: str
    since: str
    construction: str | None = None

    @property
    def words(self) -> str:
        """The limit in words: "insulation resistance at least 5 MΩ, Class II"."""
        bound = f"{'at least' if self.at_least else 'at most'} {describe_number(self.value)} {self.unit.symbol}"
        held = f", {Construction(self.construction).word}" if self.construction else ""
        return f"{self.check.replace('-', ' ')} {bound}{held}"


@dataclass(frozen=True)
class Setting:
    """A named choice where the sources leave one open. choices gives for each value what it means."""

    key: str
    title: str
    value: str
    choices: Mapping[str, str]
    note: str

    @property
    def chosen(self) -> str:
        """What the chosen value means."""
        return self.choices[self.value]


@dataclass(frozen=True, eq=False)
class Rulebook:
    """A named edition of all limits. Two are the same only when they are one object: comparing a hundred figures for
    each reading would cost more than judging it.

    separation_binds is False where the figure for the output side of a charger comes from elsewhere.
    """

    id: str
    title: str
    edition: str
    version: str
    scope: str
    earth: EarthByCord | EarthBySteps
    insulation: tuple[Row, ...]
    protective_current: tuple[Row, ...]
    touch_current: tuple[Row, ...]
    substitute_current: tuple[Row, ...]
    microwave: Figure
    dielectric: Figure
    current_required: bool
    current_stands_in: bool
    separation_binds: bool = True
    fallback_kw: Figure | None = None
    settings: tuple[Setting, ...] = ()
    disagreements: tuple[str, ...] = ()
    extra: tuple[Figure, ...] = ()
    house: tuple[HouseLimit, ...] = field(default=())

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every figure of the rulebook, once, in the order of its tables."""
        found: dict[str, Figure] = {}
        parts: list[object] = list(vars(self.earth).values())
        for rows in (self.insulation, self.protective_current, self.touch_current, self.substitute_current):
            for row in rows:
                parts += [row.figure, row.per_kw, row.cap]
        parts += [self.microwave, self.dielectric, self.fallback_kw, *self.extra]
        for part in parts:
            if isinstance(part, Figure):
                found.setdefault(part.key, part)
        return tuple(found.values())

    def figure(self, key: str) -> Figure:
        """Give the figure with this key; KeyError where there is none."""
        return {figure.key: figure for figure in self.figures}[key]

    def setting(self, key: str) -> str:
        """Give the chosen value of a named setting, "" where the rulebook has no such setting."""
        return next((setting.value for setting in self.settings if setting.key == key), "")

    def with_setting(self, key: str, value: str) -> "Rulebook":
        """Choose a named setting. Raises ValueError for a setting or a choice that this rulebook does not have."""
        setting = next((each for each in self.settings if each.key == key), None)
        if setting is None:
            raise ValueError(f"The rulebook {self.id} has no setting “{key}”.")
        if value == setting.value:
            return self
        if value not in setting.choices:
            raise ValueError(f"“{key}” is one of: {', '.join(setting.choices)}.")
        chosen = replace(setting, value=value)
        return replace(self, settings=tuple(chosen if each.key == key else each for each in self.settings))

    def with_settings(self, chosen: Mapping[str, str]) -> "Rulebook":
        """Choose several named settings. Raises ValueError as with_setting does."""
        rulebook = self
        for key, value in chosen.items():
            rulebook = rulebook.with_setting(key, value)
        return rulebook

    def with_house(self, house: tuple[HouseLimit, ...]) -> "Rulebook":
        """Lay a firm's own stricter limits over this rulebook."""
        return replace(self, house=house)
