"""The one-off check: judges the readings of an item that is on no register, and keeps nothing.

Everything is in the address, so a page can be opened again, sent to a colleague, or printed.
"""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.rules.advice import list_advice
from app.rules.checks import UNITS, Check
from app.rules.decisions import DecisionRule
from app.rules.equipment import Cord, ItemFacts
from app.rules.judging import Judging, describe_decision_rule, describe_own_gap, judge_visit_item
from app.rules.rulebooks import RULEBOOKS
from app.rules.suggestions import list_suggestions
from app.rules.uncertainties import MeasuringRange
from app.rules.visits import CONDUCTOR_C, LEAD_MOST
from app.rules.visual_points import list_points_to_mark
from app.store.equipment_types import get_equipment_type, list_equipment_types
from app.store.instruments import InstrumentRow, list_instruments
from app.store.judgings import facts_for_judging_on, facts_of_rulebook
from app.web.answers import show_answers
from app.web.entry_fields import list_typed_entries
from app.web.facts_fields import list_facts_choices, new_facts, show_facts, show_summary
from app.web.fields import Form
from app.web.kit import Asked, Reading, TheDesk, page
from app.web.sequence_fields import list_asked_checks, list_sequence_choices, new_sequence, show_sequence
from app.web.sheet_steps import list_sheet_steps

routes = APIRouter()


@dataclass(frozen=True)
class Told:
    """What the address says: what the item is, and what it is judged by. known: nothing of it is wrong or missing."""

    facts: ItemFacts
    judging: Judging
    known: bool


@routes.get("/one-off-check")
def show_one_off_check(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    """The facts first; with them the item's own sequence with its limits; with readings the verdict on each."""
    told = _told(session, asked, desk.today)
    facts, judging = told.facts, told.judging
    entries = [entry for _, entry in list_typed_entries(asked, facts, judging)] if told.known else []
    usual = facts_for_judging_on(session, None, desk.today)
    return page(
        request,
        "one_off_checks/show.html",
        form=asked,
        summary=" · ".join((show_summary(facts), facts.use.word)),
        judging=judging,
        usual=usual,
        rule_words=describe_decision_rule(judging),
        own_gap=describe_own_gap(facts, judging) if told.known else "",
        sequence=list_sequence_choices(),
        asked_checks=list_asked_checks(session, asked),
        types=[(row.id, row.name) for row in list_equipment_types(session)],
        choices=list_facts_choices(asked) | _choices(session),
        points=list_points_to_mark(facts),
        judged=judge_visit_item(facts, entries, judging) if entries else None,
        advice=list_advice(facts) if told.known else (),
        suggestions=list_suggestions(facts) if told.known else (),
        **_answers(asked, told),
    )


@routes.get("/one-off-check/parts/answers")
def part_answers(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    """What the rules say of the readings as they are typed. Keeps nothing."""
    return page(request, "readings/_answers.html", **_answers(asked, _told(session, asked, desk.today)))


def _answers(asked: Form, told: Told) -> dict[str, Any]:
    steps = list_sheet_steps(told.facts, told.judging) if told.known else []
    return {"steps": steps, "answers": show_answers(asked, told.facts, told.judging)}


def _told(session: Session, asked: Form, today: date) -> Told:
    type_id, told = asked.whole("type", 1, 2**31 - 1), "kind" in asked.values
    if not told:
        row = get_equipment_type(session, type_id) if type_id else None
        asked.values |= show_facts(row.facts if row else ItemFacts(cord=Cord()))
        asked.values |= show_sequence(row.own_checks if row else None)
    facts, judging = new_facts(asked), _judging(session, asked, today)
    return Told(facts, judging, told and not asked.mistakes)


def _judging(session: Session, asked: Form, today: date) -> Judging:
    """As the firm judges, but for what is chosen otherwise here."""
    own = new_sequence(asked)
    judging = facts_for_judging_on(session, None, today)
    house = judging.rulebook.house if asked.tick("house") else ()
    chosen = asked.value("rulebook") if asked.value("rulebook") in RULEBOOKS else judging.rulebook.id
    rulebook = facts_of_rulebook(session, chosen)
    lead = _number(asked, "lead", "0", str(LEAD_MOST))
    return replace(
        judging,
        rulebook=rulebook.with_house(house) if house else rulebook,
        rule=asked.choice("rule", DecisionRule, judging.rule),
        ranges=_ranges(session, asked),
        own=tuple(Check(each) for each in own) if own else None,
        after_repair=asked.tick("after_repair"),
        lead_ohms=lead,
        both_ways=asked.tick("both_ways"),
        conductor_c=_number(asked, "conductor_c", *map(str, CONDUCTOR_C)),
    )


def _ranges(session: Session, asked: Form) -> tuple[MeasuringRange, ...]:
    """How sure the readings are: an uncertainty typed in percent of the reading, else the ranges of an instrument."""
    percent, instrument_id = _number(asked, "uncertainty", "0", "100"), asked.whole("instrument", 1, 2**31 - 1)
    if percent is not None:
        return tuple(
            MeasuringRange(check, unit, Decimal(0), Decimal("1E12"), percent, Decimal(0), Decimal(0))
            for check, unit in UNITS.items()
        )
    row = next((each for each in _instruments(session) if each.id == instrument_id), None)
    return tuple(each.as_range for each in row.ranges) if row else ()


def _instruments(session: Session) -> list[InstrumentRow]:
    return [row for row in list_instruments(session) if row.active and row.ranges]


def _choices(session: Session) -> dict[str, list[tuple[str, str]]]:
    return {
        "rulebook": [(book.id, book.title) for book in RULEBOOKS.values()],
        "rule": [(rule.value, rule.word[0].upper() + rule.word[1:]) for rule in DecisionRule],
        "instrument": [(str(row.id), f"{row.name}, {row.serial}") for row in _instruments(session)],
    }


def _number(asked: Form, name: str, least: str, most: str) -> Decimal | None:
    return asked.number(name, least, most) if asked.value(name).strip() else None
