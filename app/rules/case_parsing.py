"""Turns a case of the machine interface into the facts that rules judge, or into problems with their paths."""

from dataclasses import dataclass
from datetime import date

from app.rules.case_fields import Fields, may_be_written
from app.rules.case_items import parse_item
from app.rules.case_readings import parse_entries
from app.rules.checks import UNITS, Check
from app.rules.decisions import DecisionRule
from app.rules.equipment import Construction, ItemFacts
from app.rules.house_limits import AT_LEAST
from app.rules.quantities import Unit
from app.rules.readings import Decision, Entry
from app.rules.rulebooks import RULEBOOKS
from app.rules.rulebooks.figures import HouseLimit, Rulebook
from app.rules.verdicts import Mistakes

ID_MOST = 500
SETTINGS = ("step-rounding", "contact-allowance")


class CaseProblems(Mistakes):
    """A case that cannot be judged. problems is a list of {path, message}, path a JSON Pointer into what was sent."""

    def __init__(self, problems: list[dict[str, str]]) -> None:
        super().__init__({problem["path"]: problem["message"] for problem in problems})
        self.problems = problems


@dataclass(frozen=True)
class Case:
    """One case, read and checked."""

    id: object
    rulebook: Rulebook
    item: ItemFacts
    entries: tuple[Entry, ...]
    decision: Decision
    partial: bool
    dielectric: bool
    after_repair: bool
    own: tuple[Check, ...] | None


def parse_case(data: object, path: str = "") -> Case:
    """Read one case. Raises CaseProblems with everything that is wrong with it, not only the first thing."""
    problems: list[dict[str, str]] = []
    fields = Fields(data, path, problems)
    if problems:
        raise CaseProblems(problems)
    case_id = _id(fields)
    rulebook = _rulebook(fields)
    item = parse_item(fields)
    decision = _decision(fields)
    entries = parse_entries(fields, item, decision)
    partial, dielectric = fields.flag("partial"), fields.flag("dielectric")
    after_repair, own = fields.flag("after_repair"), _own(fields)
    fields.close()
    if problems or rulebook is None or item is None:
        raise CaseProblems(problems)
    return Case(case_id, rulebook, item, entries, decision, partial, dielectric, after_repair, own)


def _own(fields: Fields) -> tuple[Check, ...] | None:
    if not fields.has("sequence"):
        return None
    words = fields.list("sequence")
    for place, word in enumerate(words):
        if not isinstance(word, str) or word not in Check._value2member_map_:
            fields.problem(f"sequence/{place}", f"must be one of {', '.join(Check)}")
            return None
    return tuple(Check(str(word)) for word in words)


def _id(fields: Fields) -> object:
    if not fields.has("id"):
        return None
    value = fields.data["id"]
    if isinstance(value, bool) or not isinstance(value, str | int) or len(str(value)) > ID_MOST:
        fields.problem("id", f"must be text of at most {ID_MOST} characters")
    elif isinstance(value, str) and not may_be_written(value):
        fields.problem("id", "holds half a character (a lone surrogate)")
    return value


def _rulebook(fields: Fields) -> Rulebook | None:
    name = fields.word("rulebook", tuple(RULEBOOKS), required=True)
    rulebook = RULEBOOKS[name] if name is not None else None
    if fields.has("settings"):
        chosen = Fields(fields.data["settings"], f"{fields.path}/settings", fields.problems)
        for key in SETTINGS:
            value = chosen.text(key)
            if not value or rulebook is None:
                continue
            try:
                rulebook = rulebook.with_setting(key, value)
            except ValueError as error:
                chosen.problem(key, str(error))
        chosen.close()
    house = _house(fields)
    return rulebook.with_house(house) if rulebook is not None and house else rulebook


def _house(fields: Fields) -> tuple[HouseLimit, ...]:
    if not fields.has("house_limits"):
        return ()
    found: list[HouseLimit] = []
    for place, data in enumerate(fields.list("house_limits")):
        each = Fields(data, f"{fields.path}/house_limits/{place}", fields.problems)
        check, unit = each.choice("check", Check, required=True), each.choice("unit", Unit, required=True)
        most, least = each.number("at_most"), each.number("at_least")
        construction = each.choice("construction", Construction)
        reason, since = each.text("reason"), _day(each, "since")
        each.close()
        if (most is None) == (least is None):
            each.problem("", "needs at_most or at_least, one of the two")
        if check is None or unit is None:
            continue
        if check is Check.RCD_TRIP_TIME:
            each.problem("check", "a trip time has the limits of its product standard only")
            continue
        if check not in UNITS or unit.dimension != UNITS[check].dimension:
            each.problem("unit", f"does not belong to {check}")
            continue
        value = most if most is not None else least
        if value is not None and (least is not None) != (check in AT_LEAST):
            side = "at_least" if least is not None else "at_most"
            each.problem(side, f"is not the side on which {check} has its limit")
            continue
        if value is not None:
            found.append(HouseLimit(check, value, unit, most is None, reason, since, construction))
    return tuple(found)


def _day(fields: Fields, key: str) -> str:
    text = fields.text(key, 10)
    try:
        return date.fromisoformat(text).isoformat() if text else ""
    except ValueError:
        fields.problem(key, "must be a day such as 2026-05-31")
        return ""


def _decision(fields: Fields) -> Decision:
    if not fields.has("decision"):
        return Decision()
    chosen = Fields(fields.data["decision"], f"{fields.path}/decision", fields.problems)
    rule = chosen.choice("rule", DecisionRule) or DecisionRule.SIMPLE
    decision = Decision(rule, chosen.number("expanded_uncertainty"), chosen.choice("unit", Unit))
    chosen.close()
    return decision
