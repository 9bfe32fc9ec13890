"""The UK Code of Practice up to its 4th edition (2012): 0.1 Ω + R, insulation by class, leakage by class and use.

The Code is a paid book; its figures are taken from training pages and trade articles that quote it, so each carries
its status.
"""

from decimal import Decimal

from app.rules.equipment import Construction, ItemFacts, Use
from app.rules.quantities import Unit
from app.rules.rulebooks.figures import EarthByCord, Figure, Row, Rulebook, Status
from app.rules.rulebooks.shared_figures import DIELECTRIC, MICROWAVE, SHARED

CODE = "UK Code of Practice"
EDITION = "4th edition, 2012"
VOLTS = "Tested with 500 V d.c., or 250 V d.c. where 500 V could harm the item."


def _figure(
    key: str, value: str, unit: Unit | str, condition: str, status: Status = Status.SEEN, note: str = ""
) -> Figure:
    note = note or (VOLTS if unit is Unit.MEGOHM else "")
    return Figure(key, Decimal(value), unit, condition, CODE, EDITION, status, note)


def class_i(item: ItemFacts) -> bool:
    return item.tested_as is Construction.CLASS_I


def class_ii(item: ItemFacts) -> bool:
    return item.tested_as in (Construction.CLASS_II, Construction.CLASS_II_FUNCTIONAL_EARTH)


def class_iii(item: ItemFacts) -> bool:
    return item.construction is Construction.CLASS_III


def _heating(item: ItemFacts) -> bool:
    return class_i(item) and item.heating


def _heating_above_3_kw(item: ItemFacts) -> bool:
    return _heating(item) and item.rated_power_w is not None and item.rated_power_w > INSULATION_FROM.value * 1000


def _heating_unknown(item: ItemFacts) -> bool:
    return _heating(item) and item.rated_power_w is None


def _use_unknown(item: ItemFacts) -> bool:
    return class_i(item) and not item.use_known


def _held(item: ItemFacts) -> bool:
    return class_i(item) and item.use in (Use.HAND_HELD, Use.PORTABLE)


EARTH = _figure("earth.base", "0.1", Unit.OHM, "Class I, plus the resistance R of the protective conductor of the cord")

INSULATION_FROM = _figure(
    "insulation.heating.from", "3", Unit.KILOWATT,
    "rated power above which Class I heating has the lower insulation limit",
    note="One page prints 'below 3 kW', which the others contradict; from memory the Code says 3 kW and over. At "
    "exactly 3 kW the stricter limit is used here.",
)  # fmt: skip
INSULATION_HEATING = _figure("insulation.heating", "0.3", Unit.MEGOHM, "Class I heating above 3 kW")
INSULATION_I = _figure("insulation.class-i", "1", Unit.MEGOHM, "Class I")
INSULATION_II = _figure("insulation.class-ii", "2", Unit.MEGOHM, "Class II")
INSULATION_III = _figure("insulation.class-iii", "0.25", Unit.MEGOHM, "Class III")

INSULATION = (
    Row(_heating_above_3_kw, INSULATION_HEATING, at_least=True),
    Row(_heating_unknown, INSULATION_I, at_least=True, wants="the rated power", loosest=INSULATION_HEATING),
    Row(class_i, INSULATION_I, at_least=True),
    Row(class_ii, INSULATION_II, at_least=True),
    Row(class_iii, INSULATION_III, at_least=True),
)

CURRENT_HELD = _figure("current.class-i.held", "0.75", Unit.MILLIAMP, "Class I hand-held and portable")
CURRENT_OTHER = _figure(
    "current.class-i.other", "3.5", Unit.MILLIAMP, "Class I movable, stationary, fixed and IT equipment"
)
CURRENT_HEATING = _figure(
    "current.heating", "0.75", Unit.MILLIAMP, "Class I heating and cooking up to 1 kW, above it by power",
    note="EN 60335-1, 13.2 gives the allowance by power only to stationary heating appliances.",
)  # fmt: skip
CURRENT_PER_KW = _figure("current.heating.per-kw", "0.75", "mA/kW", "Class I heating and cooking, by rated power")
CURRENT_CAP = _figure(
    "current.heating.most", "5", Unit.MILLIAMP, "Class I heating and cooking, the most whatever its power"
)
CURRENT_II = _figure("current.class-ii", "0.25", Unit.MILLIAMP, "Class II")
TOUCH_UNEARTHED = _figure(
    "current.touch.class-i", "0.25", Unit.MILLIAMP, "parts of Class I that are not joined to earth", Status.MEMORY
)

_CLASS_I_CURRENTS = (
    Row(_heating_unknown, CURRENT_HEATING, wants="the rated power", loosest=CURRENT_CAP),
    Row(_heating, CURRENT_HEATING, per_kw=CURRENT_PER_KW, cap=CURRENT_CAP),
    Row(_use_unknown, CURRENT_HELD, wants="the use", loosest=CURRENT_OTHER, working="Class I, use not known"),
    Row(_held, CURRENT_HELD),
    Row(class_i, CURRENT_OTHER),
)
CURRENTS = (*_CLASS_I_CURRENTS, Row(class_ii, CURRENT_II))
TOUCH = (Row(class_i, TOUCH_UNEARTHED), Row(class_ii, CURRENT_II))

RULEBOOK = Rulebook(
    id="uk-2012",
    title="UK, limits of 2012",
    edition=f"IET {CODE} for in-service inspection and testing, {EDITION}",
    version="1",
    scope="United Kingdom; equipment tested to the Code of Practice up to its 4th edition",
    earth=EarthByCord(EARTH),
    insulation=INSULATION,
    protective_current=CURRENTS,
    touch_current=TOUCH,
    substitute_current=CURRENTS,
    microwave=MICROWAVE,
    dielectric=DIELECTRIC,
    current_required=False,
    current_stands_in=True,
    separation_binds=False,
    disagreements=(
        "Heating and insulation: here 0.3 MΩ only above 3 kW; in Germany for any heating element.",
        "Leakage: here 0.25, 0.75 or 3.5 mA by class and use; 5 mA for all from the 5th edition; 0.5 mA touch current "
        "and 3.5 mA protective conductor current under EN 50699.",
        "Protective conductor: here 0.1 Ω plus the cord; under EN 50699 0.3 Ω up to 5 m.",
        "A reading above 0.1 Ω + R may be accepted by a competent person after a risk assessment, up to about 0.5 Ω "
        "(from memory, doubtful); Ohmstead leaves that to a person.",
    ),
    extra=(INSULATION_FROM, *SHARED),
)
