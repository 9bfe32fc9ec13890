"""The tablet compares numbers as the rules judge them: one table of cases, run in Python and in a real browser."""

from dataclasses import replace
from decimal import Decimal
from itertools import product
from typing import Any

import pytest

from app.rules.equipment import Cord, ItemFacts, Use
from app.rules.judging import Judging
from app.rules.quantities import Unit, parse_reading
from app.rules.rulebooks import RULEBOOKS
from app.web.answers import show_answers
from app.web.fields import Form
from app.web.tablet_steps import list_units, show_tablet_steps
from tests.browser import OpenPage
from tests.cast import DRILL, KETTLE, LEAD
from tests.servers import RunningApp

TYPED = (
    "0,09 0.09 .09 0.139 0.1390 0.1391 0.21 139mΩ 139.0mΩ 210mohm >0.139 >0.1 <0.139 <0.2 <0 1 1.0 0.999999 999999 "
    ">1 >0.99 2 <2 >20MΩ >20 200kΩ 1GΩ 0 00.5 3.5 5 7 0.25 0.75 1e3 -1 abc 1,234 12,345 1.2.3 ∞ 0.1Ω 0.1µΩ 0.5mA "
    "0.5V 300000000000000 1000000000000 40ms 0.04s 12345678901234567890123456789012345678901234567890"
).split()
ITEMS: dict[str, ItemFacts] = {
    "kettle": KETTLE,
    "drill": DRILL,
    "lead": LEAD,
    "heater of 4 kW": replace(KETTLE, rated_power_w=Decimal(4000)),
    "cord of unknown length": replace(KETTLE, cord=Cord(Decimal("0.75"), None)),
    "fixed": replace(KETTLE, use=Use.FIXED),
}


def fields_in(screen: dict[str, Any]) -> list[dict[str, Any]]:
    return [field for step in screen["steps"] for field in step["fields"]]


@pytest.fixture
def module(app_server: RunningApp, open_page: OpenPage) -> Any:
    page = open_page("tablet", base_url=app_server.address)
    page.goto("/set-up")
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


@pytest.mark.parametrize("name", ITEMS)
def test_every_field_and_every_lock_comes_out_as_at_the_office(module: Any, name: str) -> None:
    """Each field with each text, the others good; then a failure of each check, with all that it locks."""
    told, expected = [], []
    for rulebook in RULEBOOKS.values():
        judging, facts = Judging(rulebook), ITEMS[name]
        screen = show_tablet_steps(facts, judging)
        good = {"visual": "satisfactory"}
        for field in fields_in(screen):
            if not field["needed"]:
                continue
            low, high = (field.get("passes") or [None, None])[:2]
            good[field["name"]] = "satisfactory" if field["kind"] != "reading" else high or low or "1"
        cases = [good]
        for field in fields_in(screen):
            texts = TYPED if field["kind"] == "reading" else ["satisfactory", "defect"]
            cases += [good | {field["name"]: text} for text in texts if field["needed"]]
        cases += [{key: value for key, value in good.items() if key != left} for left in good]
        told.append([screen, cases])
        for values in cases:
            answers = show_answers(Form(dict(values)), facts, judging)
            lines = {name: line.outcome for name, line in answers.lines.items() if line.outcome}
            expected.append([lines, answers.locked, answers.verdict])
    answers = module.evaluate(
        """async ([told, units]) => {
            const { judgeItem } = await import("/static/js/tablet/judging.js");
            return told.flatMap(([screen, cases]) => cases.map((values) => {
                const found = judgeItem(screen, new Map(Object.entries(values)), units);
                const judged = Object.entries(found.lines).filter(([name, line]) => line.outcome && name !== "visual");
                const lines = Object.fromEntries(judged.map(([name, { outcome }]) => [name, outcome]));
                return [lines, found.locked, found.verdict];
            }));
        }""",
        [told, list_units()],
    )
    flat = [values for _, cases in told for values in cases]
    for typed, answer, want in zip(flat, answers, expected, strict=True):
        assert answer == want, typed
