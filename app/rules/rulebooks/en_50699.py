"""EN 50699:2020 and the German line before it (DIN VDE 0701-0702): protective conductor by steps of cord length,
0.3 MΩ for heating, 3.5 mA protective conductor and 0.5 mA touch current.

The figures were read in DGUV Information 203-071 and in a trade journal's summary of the standard. BS EN 50699 carries
a national foreword that warns of its methods: in doubt the product standard rules.
"""

from decimal import Decimal

from app.rules.equipment import Construction, ItemFacts
from app.rules.quantities import Unit
from app.rules.rulebooks.figures import EarthBySteps, Figure, Row, Rulebook, Setting, Status
from app.rules.rulebooks.shared_figures import DIELECTRIC, MICROWAVE, SHARED
from app.rules.rulebooks.uk_2012 import VOLTS, class_i, class_ii, class_iii

DGUV = "DGUV Information 203-071, annex 5"
STANDARD = "EN 50699"
EDITION = "2020"


def _figure(
    key: str,
    value: str,
    unit: Unit | str,
    condition: str,
    source: str = DGUV,
    status: Status = Status.SEEN,
    note: str = "",
) -> Figure:
    edition = EDITION if source == STANDARD else ""
    note = note or (VOLTS if key.startswith("insulation") and unit is Unit.MEGOHM else "")
    return Figure(key, Decimal(value), unit, condition, source, edition, status, note)


EARTH = EarthBySteps(
    base=_figure("earth.base", "0.3", Unit.OHM, "cord up to 5 m and up to 1.5 mm²", STANDARD),
    first_length=_figure("earth.first-length", "5", "m", "cord length up to which the first limit holds", STANDARD),
    step=_figure("earth.step", "0.1", Unit.OHM, "added for each further length of cord", STANDARD),
    step_length=_figure(
        "earth.step-length", "7.5", "m", "further length of cord that adds a step", STANDARD,
        note="The sources do not say whether a started length counts; a setting of this rulebook decides.",
    ),
    most=_figure("earth.most", "1.0", Unit.OHM, "the most that steps of cord length can give", STANDARD),
    step_csa=_figure(
        "earth.step-size", "1.5", "mm²", "conductor size up to which the steps of cord length hold", STANDARD,
        note="The standard of 2008 said rated current up to 16 A instead.",
    ),
    step_current=_figure(
        "earth.step-current", "16", Unit.AMP, "rated current up to which the steps hold where the size is not known"
    ),
    conductivity=_figure(
        "earth.conductivity", "56", "m/(Ω·mm²)", "copper; R = length / (conductivity × size) above 1.5 mm²",
        "common practice, with the formula of EN 50699", Status.MEMORY,
    ),
    contacts=_figure(
        "earth.contacts", "0.1", Unit.OHM, "allowance for contacts on top of a calculated value", STANDARD,
        Status.MEMORY, note="One source gives the calculated value alone; a setting of this rulebook decides.",
    ),
    fixed=_figure(
        "earth.fixed", "1.0", Unit.OHM, "fixed connection without a cord", STANDARD, Status.MEMORY,
        note="Between 0.3 Ω and this a person decides.",
    ),
)  # fmt: skip


def _heating(item: ItemFacts) -> bool:
    return class_i(item) and item.heating


def _heating_above(item: ItemFacts) -> bool:
    return _heating(item) and item.rated_power_w is not None and item.rated_power_w > HEATING_FROM.value * 1000


def _heating_unknown(item: ItemFacts) -> bool:
    return _heating(item) and item.rated_power_w is None


def _has_conductor(item: ItemFacts) -> bool:
    return item.construction in (Construction.CLASS_I, Construction.CLASS_II_FUNCTIONAL_EARTH)


def _has_earthed_metal(item: ItemFacts) -> bool:
    return item.tested_as in (Construction.CLASS_I, Construction.CLASS_II_FUNCTIONAL_EARTH)


INSULATION = (
    Row(_heating, _figure("insulation.heating", "0.3", Unit.MEGOHM, "Class I with heating elements"), True),
    Row(class_i, _figure("insulation.class-i", "1", Unit.MEGOHM, "Class I"), True),
    Row(class_ii, _figure("insulation.class-ii", "2", Unit.MEGOHM, "Class II"), True),
    Row(class_iii, _figure("insulation.class-iii", "0.25", Unit.MEGOHM, "Class III, SELV and PELV"), True),
)

HEATING_FROM = _figure(
    "current.heating.from", "3.5", Unit.KILOWATT, "rated power above which the current of heating goes by its power"
)
CURRENT = _figure("current.class-i", "3.5", Unit.MILLIAMP, "protective conductor current, Class I")
CURRENT_PER_KW = _figure("current.heating.per-kw", "1", "mA/kW", "heating above 3.5 kW, by rated power")
CURRENT_CAP = _figure("current.heating.most", "10", Unit.MILLIAMP, "heating above 3.5 kW, the most whatever its power")
TOUCH = _figure(
    "current.touch",
    "0.5",
    Unit.MILLIAMP,
    "touch current: Class II, Class III, and parts of Class I not joined to earth",
)
TOUCH_SUBSTITUTE = TOUCH

_BY_POWER = (
    Row(_heating_unknown, CURRENT, wants="the rated power", loosest=CURRENT_CAP),
    Row(_heating_above, CURRENT, per_kw=CURRENT_PER_KW, cap=CURRENT_CAP),
)
_BY_TOUCH = (Row(lambda item: True, TOUCH),)

RULEBOOK = Rulebook(
    id="en-50699",
    title="EN 50699, limits of 2020",
    edition=f"{STANDARD}:{EDITION}, recurrent test, with {DGUV}",
    version="1",
    scope="Europe; equipment above 25 V a.c. up to 1000 V a.c. and 63 A; not medical, welding or Ex equipment",
    earth=EARTH,
    insulation=INSULATION,
    protective_current=(*_BY_POWER, Row(_has_conductor, CURRENT)),
    touch_current=_BY_TOUCH,
    substitute_current=(*_BY_POWER, Row(_has_earthed_metal, CURRENT), *_BY_TOUCH),
    microwave=MICROWAVE,
    dielectric=DIELECTRIC,
    current_required=True,
    current_stands_in=True,
    fallback_kw=_figure(
        "insulation.fallback.from", "3.5", Unit.KILOWATT,
        "heating above this that misses its insulation limit is accepted when the protective conductor current is met",
        "DIN VDE 0701-0702", Status.MEMORY,
    ),
    extra=(HEATING_FROM, *SHARED),
    settings=(
        Setting(
            "step-rounding", "Further lengths of cord", "started",
            {
                "started": "Each started 7.5 m beyond 5 m adds 0.1 Ω",
                "whole": "Only each whole 7.5 m beyond 5 m adds 0.1 Ω",
            },
            "The sources do not say whether 0.1 Ω is added for each started or for each whole further 7.5 m.",
        ),
        Setting(
            "contact-allowance", "Contacts of cords above 1.5 mm²", "without",
            {
                "without": "Above 1.5 mm² the calculated resistance holds alone",
                "with": "Above 1.5 mm² 0.1 Ω for contacts is added to the calculated resistance",
            },
            "Seen: the calculated value alone. From memory: 0.1 Ω for contacts is added.",
        ),
    ),
    disagreements=(
        "Above 1.5 mm²: the calculated value alone, or with 0.1 Ω for contacts added. The two can give opposite "
        "verdicts.",
        "The steps hold for cords of rated current up to 16 A (2008) or for conductors up to 1.5 mm² (2020).",
        "The UK national foreword warns that some methods do not line up with product standards and may damage "
        "equipment; in doubt the product standard rules.",
    ),
)  # fmt: skip
