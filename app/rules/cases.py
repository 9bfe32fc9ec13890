"""The machine interface: one case or a list of cases in, judged answers out, with no database and no clock.

What a case may hold is described by the JSON Schema in case_schema.
"""

from decimal import Decimal

from app.rules.case_parsing import Case, CaseProblems, parse_case
from app.rules.decisions import Band, number_conformance
from app.rules.limits import Limit
from app.rules.quantities import Bound, Unit, convert_for_lead, convert_reading, describe_number
from app.rules.rcds import FIVE, QUARTER_AMP_MA
from app.rules.readings import CheckVerdict, judge_item
from app.rules.suggestions import Suggestion, list_suggestions

Answer = dict[str, object]


def judge_case(data: object, path: str = "") -> Answer:
    """Judge one case. Raises CaseProblems where it cannot be read; path is where the case stands in a list."""
    case = parse_case(data, path)
    return _answer(case)


def judge_cases(data: object) -> list[Answer]:
    """Judge one case or a list of cases, in order. Raises CaseProblems with the problems of all of them."""
    cases = list(data) if isinstance(data, list | tuple) else [data]
    single = not isinstance(data, list | tuple)
    answers: list[Answer] = []
    problems: list[dict[str, str]] = []
    for place, case in enumerate(cases):
        try:
            answers.append(judge_case(case, "" if single else f"/{place}"))
        except CaseProblems as error:
            problems += error.problems
    if problems:
        raise CaseProblems(problems)
    return answers


def _answer(case: Case) -> Answer:
    verdict = judge_item(
        case.item, case.entries, case.rulebook, case.partial, decision=case.decision, dielectric=case.dielectric,
        after_repair=case.after_repair, own=case.own,
    )  # fmt: skip
    return {
        "id": case.id,
        "verdict": verdict.verdict.value,
        "sentence": verdict.sentence,
        "checks": [_check(each) for each in verdict.checks],
        "missing": [check.value for check in verdict.missing],
        "unfinished": [{"check": check.value, "text": text} for check, text in verdict.unfinished],
        "locked": [{"check": check.value, "text": text} for check, text in verdict.locked],
        "advice": [{"code": each.code, "text": each.text, "severity": each.severity.value} for each in verdict.advice],
        "suggestions": [_suggested(each) for each in list_suggestions(case.item)],
        "rulebook": {"id": verdict.rulebook_id, "version": verdict.rulebook_version},
    }


def _suggested(each: Suggestion) -> Answer:
    told: Answer = {"code": each.code, "text": each.text}
    return told if each.value is None else {**told, "value": describe_number(each.value), "unit": str(each.unit)}


def _check(answer: CheckVerdict) -> Answer:
    told = _told(answer)
    if answer.parts:
        told["readings"] = [_told(part) for part in answer.parts]
    return told


def _told(answer: CheckVerdict) -> Answer:
    told: Answer = {
        "check": answer.check.value,
        "outcome": answer.outcome.value,
        "limit": _limit(answer.limit),
        "working": answer.working,
        "source": answer.source,
        "status": answer.limit.status.value if answer.limit is not None else None,
        "margin": _number(answer.margin),
        "sentence": answer.sentence,
    }
    entry = answer.entry
    if answer.acceptance is not None and answer.limit is not None:
        told["acceptance"] = _acceptance(answer.acceptance, answer.limit.unit)
    if entry is not None:
        told |= _probability(answer)
        if entry.multiple is not None and entry.multiple > FIVE:
            told["test_current_ma"] = describe_number(QUARTER_AMP_MA)
        elif entry.multiple is not None:
            told["multiple"] = describe_number(entry.multiple)
        if entry.phase_deg is not None:
            told["phase_deg"] = entry.phase_deg
        if entry.point:
            told["point"] = entry.point
    return told


def _probability(answer: CheckVerdict) -> Answer:
    """The probability that the true value meets the limit, where the uncertainty is known and the reading exact."""
    limit, reading = answer.limit, answer.entry.reading if answer.entry is not None else None
    if limit is None or reading is None or reading.bound is not Bound.EXACT or not answer.uncertainty:
        return {}
    value = convert_reading(reading, limit.unit).value
    if answer.entry is not None and answer.entry.lead is not None:
        value = convert_reading(convert_for_lead(reading, answer.entry.lead), limit.unit).value
    half = answer.uncertainty / 2
    sure = number_conformance(value, half, at_most=limit.at_most, at_least=limit.at_least)
    return {"expanded_uncertainty": _number(answer.uncertainty), "conformance_probability": str(sure)}


def _limit(limit: Limit | None) -> dict[str, str] | None:
    if limit is None or (limit.at_most is None and limit.at_least is None):
        return None
    return _bounds(limit.at_least, limit.at_most, limit.unit)


def _acceptance(band: Band, unit: Unit) -> dict[str, str]:
    return _bounds(band.accept_at_least, band.accept_at_most, unit)


def _bounds(at_least: Decimal | None, at_most: Decimal | None, unit: Unit) -> dict[str, str]:
    told: dict[str, str] = {}
    if at_least is not None:
        told["at_least"] = describe_number(at_least)
    if at_most is not None:
        told["at_most"] = describe_number(at_most)
    return {**told, "unit": unit.value}


def _number(value: Decimal | None) -> str | None:
    return None if value is None else describe_number(value, 12)


__all__ = ["Answer", "CaseProblems", "judge_case", "judge_cases", "parse_case"]
