"""The tablet compares numbers as the rules judge them: one table of cases, run in Python and in a real browser."""

import re
from dataclasses import replace
from decimal import Decimal
from itertools import product
from typing import Any

import pytest

from app.rules.checks import Check
from app.rules.decisions import DecisionRule
from app.rules.equipment import Cord, ItemFacts, Kind, Rcd, Use
from app.rules.judging import Judging
from app.rules.quantities import Unit, parse_reading
from app.rules.rulebooks import RULEBOOKS
from app.rules.uncertainties import MeasuringRange
from app.web.answers import show_answers
from app.web.fields import Form
from app.web.tablet_steps import list_units, show_tablet_steps
from tests.browser import OpenPage
from tests.cast import DRILL, KETTLE, LEAD
from tests.standing import StandingOffice

TYPED = (
    "0,09 0.09 .09 0.139 0.1390 0.1391 0.21 139mΩ 139.0mΩ 210mohm >0.139 >0.1 <0.139 <0.2 <0 1 1.0 0.999999 999999 "
    ">1 >0.99 2 <2 >20MΩ >20 200kΩ 1GΩ 0 00.5 3.5 5 7 0.25 0.75 1e3 -1 abc 1,234 12,345 1.2.3 ∞ 0.1Ω 0.1µΩ 0.5mA "
    "0.5V 300000000000000 1000000000000 40ms 0.04s 139.00000000000000000000000001mΩ "
    "12345678901234567890123456789012345678901234567890"
).split()
ITEMS: dict[str, ItemFacts] = {
    "kettle": KETTLE,
    "drill": DRILL,
    "lead": LEAD,
    # Its limit has more digits than are shown: 0.1 + 3.3 m × 0.00798 Ω/m, and 3.3 m ÷ (56 × 2.5) by EN 50699.
    "heater of 4 kW": replace(KETTLE, rated_power_w=Decimal(4000), cord=Cord(Decimal("2.5"), Decimal("3.3"))),
    "cord of unknown length": replace(KETTLE, cord=Cord(Decimal("0.75"), None)),
    "fixed": replace(KETTLE, use=Use.FIXED),
    "heater whose current decides": replace(KETTLE, rated_power_w=Decimal(6000), fuse_a=None),
    "pump without earthed metal": replace(KETTLE, use=Use.STATIONARY, earthed_metal=False),
    "charger": replace(DRILL, kind=Kind.CHARGER),
    "type S": replace(LEAD, kind=Kind.RCD_LEAD, rcd=Rcd(Decimal(100), "EN 61008", selective=True)),
}


def measuring(check: Check, unit: Unit, most: str, *more: str) -> MeasuringRange:
    """A range from 0: percent, digits, resolution, and where told a fixed amount and the factor k."""
    return MeasuringRange(check, unit, Decimal(0), Decimal(most), *map(Decimal, more))


#: One that overlaps a coarser one, one told for k = 1.73, and one of everything in a unit of its own.
RANGES = (
    measuring(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Unit.OHM, "0.5", "5", "4", "0.001"),
    measuring(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Unit.OHM, "20", "5", "4", "0.01"),
    measuring(Check.INSULATION_RESISTANCE, Unit.KILOHM, "20000", "10", "5", "10", "20", "1.73"),
    measuring(Check.PROTECTIVE_CONDUCTOR_CURRENT, Unit.MILLIAMP, "20", "3", "2", "0.01"),
    measuring(Check.RCD_TRIP_TIME, Unit.MILLISECOND, "1000", "2", "1", "1"),
)
#: What is said of a plain pass; what is said of the rest is longer at the office.
SPARE = re.compile("( to spare|^exactly at the limit)$")
#: Around every limit, as a share of it, with and without a bound.
SHARES = "0.5 0.9 0.92 0.95 0.98 1 1.02 1.05 1.08 1.3 >0.9 >1 >1.1 <0.9 <1 <1.1".split()


def fields_in(screen: dict[str, Any]) -> list[dict[str, Any]]:
    return [field for step in screen["steps"] for field in step["fields"]]


@pytest.fixture
def module(standing: StandingOffice, open_page: OpenPage) -> Any:
    """A page of the office, in which its script can be run."""
    page = open_page("tablet", base_url=standing.app.address)
    page.goto("/sign-in")
    return page


def test_units_are_read_alike(module: Any) -> None:
    cases = [
        [text, unit.value] for text, unit in product(TYPED, (Unit.OHM, Unit.MEGOHM, Unit.MILLIAMP, Unit.MILLISECOND))
    ]
    units = {unit.value: [unit.dimension, unit.power, unit.symbol] for unit in Unit}
    answers = module.evaluate(
        """async ([cases, units, known]) => {
            const { readReading } = await import("/static/js/tablet/judging.js");
            const { write } = await import("/static/js/tablet/decimals.js");
            return cases.map(([text, unit]) => {
                try {
                    const { value, bound } = readReading(text, units[unit], known);
                    return bound + write(value, 40);
                } catch (problem) { return "unusable"; }
            });
        }""",
        [cases, units, list_units()],
    )
    for (text, unit), answer in zip(cases, answers, strict=True):
        try:
            reading = parse_reading(text, Unit(unit))
        except ValueError:
            expected = "unusable"
        else:
            number = f"{reading.value:f}"
            number = number.rstrip("0").rstrip(".") if "." in number else number
            expected = reading.bound.sign.strip() + number
        assert answer == expected, f"{text} in {unit}"


def usual(field: dict[str, Any]) -> str:
    """What passes in a field by any decision rule."""
    if field["kind"] != "reading":
        return "satisfactory"
    least, most = (None if text is None else Decimal(text) for text in field["limit"])
    if least is not None and most is not None:
        return f"{(least + most) / 2}"
    return "0.001" if least is None else ">200MΩ"


def texts_near(field: dict[str, Any]) -> list[str]:
    """Readings around the limits of a field, in its own unit."""
    if field["kind"] != "reading":
        return ["satisfactory", "defect"]
    power = field["limit_unit"][1] - field["unit"][1]
    limits = [Decimal(text).scaleb(power) for text in field["limit"] if text is not None]
    return [
        f"{share[:1] * (share[0] in '<>')}{limit * Decimal(share.strip('<>')):f}"
        for limit in limits
        for share in SHARES
    ]


def cases_of(screen: dict[str, Any], typed: list[str]) -> list[dict[str, str]]:
    """Each field with what is near its limit and what was typed; each left out; insulation by the current."""
    good = {"visual": "satisfactory"}
    good |= {field["name"]: usual(field) for field in fields_in(screen) if field["needed"]}
    cases = [good]
    for field in fields_in(screen):
        texts = [*texts_near(field), *(typed if field["kind"] == "reading" and field["needed"] else [])]
        cases += [good | {field["name"]: text} for text in texts]
    cases += [{key: value for key, value in good.items() if key != left} for left in good]
    insulation, current = Check.INSULATION_RESISTANCE.value, Check.PROTECTIVE_CONDUCTOR_CURRENT.value
    if screen["fallback"]:
        more = {"functional": "satisfactory", Check.SUBSTITUTE_LEAKAGE_CURRENT.value: "1"}
        for low, high in product(("0.1", "0.29", "0.31", "<0.35", ">0.2"), ("3", "5.9", "6.1", "> 5", "9")):
            cases.append(good | more | {insulation: low, current: high})
    return cases


@pytest.mark.parametrize("name", ITEMS)
def test_every_field_and_every_lock_comes_out_as_at_the_office(module: Any, name: str) -> None:
    """Under every rulebook and decision rule, with an instrument whose uncertainty is known."""
    told, expected = [], []
    for rulebook, rule in product(RULEBOOKS.values(), DecisionRule):
        judging, facts = Judging(rulebook, rule, RANGES), ITEMS[name]
        screen = show_tablet_steps(facts, judging)
        first = rule is DecisionRule.SIMPLE and rulebook.id == "uk-2012"
        cases = cases_of(screen, TYPED if first else [])
        told.append([screen, cases])
        for values in cases:
            answers = show_answers(Form(dict(values)), facts, judging)
            lines = {name: line.outcome for name, line in answers.lines.items() if line.outcome}
            spare = {name: line.sentence for name, line in answers.lines.items() if SPARE.search(line.sentence)}
            expected.append([lines, answers.locked, answers.verdict, spare])
    answers = module.evaluate(
        """async ([screens, units, shape]) => {
            const { judgeItem } = await import("/static/js/tablet/judging.js");
            const told = new RegExp(shape);
            return screens.flatMap(([screen, cases]) => cases.map((values) => {
                const found = judgeItem(screen, new Map(Object.entries(values)), units);
                const judged = Object.entries(found.lines).filter(([name, line]) => line.outcome && name !== "visual");
                const lines = Object.fromEntries(judged.map(([name, { outcome }]) => [name, outcome]));
                const plain = judged.filter(([, { outcome, sentence }]) => outcome === "pass" && told.test(sentence));
                const spare = Object.fromEntries(plain.map(([name, { sentence }]) => [name, sentence]));
                return [lines, found.locked, found.verdict, spare];
            }));
        }""",
        [told, list_units(), SPARE.pattern],
    )
    flat = [values for _, cases in told for values in cases]
    for typed, answer, want in zip(flat, answers, expected, strict=True):
        assert answer == want, typed
