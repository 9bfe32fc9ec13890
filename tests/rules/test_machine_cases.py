"""The machine interface: what it takes, what it answers, and how it says what is wrong. The worked cases are in
test_limit_cases; here the example is that of the interface's own description.
"""

import copy
import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from app.rules.case_fields import parse_json
from app.rules.case_schema import ANSWER_SCHEMA, CASE_SCHEMA
from app.rules.cases import CaseProblems, judge_case, judge_cases

Json = dict[str, Any]

CASE: Json = {
    "id": "any text",
    "rulebook": "uk-2012",
    "item": {
        "kind": "appliance", "construction": "I", "use": "portable", "heating": True, "rated_power_w": "2200",
        "rated_current_a": None, "supply": "230-single",
        "cord": {"csa_mm2": "0.75", "length_m": "1.5", "detachable": False, "moulded_plug": True}, "fuse_a": "13",
        "rcd": {"rated_ma": "30", "product": "EN 61008", "selective": False, "delay_ms": None},
    },
    "decision": {"rule": "simple", "expanded_uncertainty": "0.02"},
    "readings": [
        {"check": "protective-conductor-resistance", "value": "0.15", "unit": "ohm", "bound": "exact"},
        {"check": "rcd-trip-time", "multiple": "1", "phase_deg": 0, "value": "28", "unit": "ms"},
        {"check": "rcd-trip-time", "multiple": "0.5", "phase_deg": 0, "outcome": "no-trip"},
        {"check": "visual", "outcome": "pass"},
    ],
}  # fmt: skip


def judged(case: object) -> Json:
    """The answer, as loosely typed as JSON is."""
    answer: Json = judge_case(case)
    return answer


def changed(path: str, value: object) -> Json:
    """The example with one field set, by a path such as item/cord/length_m."""
    case = copy.deepcopy(CASE)
    *parents, last = path.split("/")
    place: Any = case
    for key in parents:
        place = place[int(key)] if isinstance(place, list) else place[key]
    place[int(last) if isinstance(place, list) else last] = value
    return case


def problems(case: object) -> list[dict[str, str]]:
    with pytest.raises(CaseProblems) as refused:
        judged(case)
    assert refused.value.messages
    return refused.value.problems


def test_the_example_of_the_interface() -> None:
    answer = judged(CASE)
    earth = next(check for check in answer["checks"] if check["check"] == "protective-conductor-resistance")
    assert (earth["outcome"], earth["limit"]) == ("fail", {"at_most": "0.139", "unit": "ohm"})
    assert earth["margin"] == "-0.011"
    assert (answer["id"], answer["verdict"]) == ("any text", "fail")
    assert answer["missing"] == ["insulation-resistance"]
    assert answer["rulebook"] == {"id": "uk-2012", "version": "1"}
    assert set(answer) <= set(ANSWER_SCHEMA["properties"])  # type: ignore[call-overload]
    json.dumps([answer, CASE_SCHEMA, ANSWER_SCHEMA])


WRONG = [
    ("rulebook", "uk-1999", "/rulebook", "one of uk-2012"),
    ("rulebook", None, "/rulebook", "is needed"),
    ("item", None, "/item", "is needed"),
    ("item", [], "/item", "must be an object"),
    ("item/kind", "toaster", "/item/kind", "must be one of"),
    ("item/construction", "1", "/item/construction", "must be one of"),
    ("item/heating", "yes", "/item/heating", "true or false"),
    ("item/rated_power_w", "0", "/item/rated_power_w", "above 0"),
    ("item/rated_power_w", "2,2", "/item/rated_power_w", "must be a number"),
    ("item/cord/lenght_m", "2", "/item/cord/lenght_m", "not a field known"),
    ("item/cord/csa_mm2", "-1", "/item/cord/csa_mm2", "below zero"),
    ("item/cord/length_m", True, "/item/cord/length_m", "must be a number"),
    ("item/cord/length_m", "5000", "/item/cord/length_m", "at most 1000"),
    ("item/rcd", None, "/readings/1/check", "item.rcd"),
    ("item/rcd/product", "BS 9999", "/item/rcd/product", "must be one of"),
    ("item/rcd/rated_ma", None, "/item/rcd/rated_ma", "is needed"),
    ("item/rcd/selective", True, "/item/rcd/selective", "above 30 mA"),
    ("item/rcd/delay_ms", "100", "/item/rcd/delay_ms", "BS 4293 only"),
    ("item/outlets", "3", "/item/outlets", "whole number"),
    ("decision/rule", "coin", "/decision/rule", "must be one of"),
    ("decision", {"rule": "four-way"}, "/decision/expanded_uncertainty", "is needed for the rule four-way"),
    ("decision", {"rule": "guard-band", "expanded_uncertainty": "1", "unit": "ms"},
     "/readings/0/expanded_uncertainty", "in decision"),
    ("readings", None, "/readings", "is needed"),
    ("readings", {"check": "visual"}, "/readings", "must be a list"),
    ("readings/0", "0.15", "/readings/0", "must be an object"),
    ("readings/0/check", "earth", "/readings/0/check", "must be one of"),
    ("readings/0/value", "abc", "/readings/0/value", "must be a number"),
    ("readings/0/value", "0,15", "/readings/0/value", "must be a number"),
    ("readings/0/value", "-0.15", "/readings/0/value", "below zero"),
    ("readings/0/value", float("nan"), "/readings/0/value", "must be a number"),
    ("readings/0/value", None, "/readings/0/value", "is needed"),
    ("readings/0/value", "9999999999999", "/readings/0/value", "at most"),
    ("readings/0/unit", None, "/readings/0/unit", "such as ohm"),
    ("readings/0/unit", "mA", "/readings/0/unit", "measures current"),
    ("readings/0/unit", "Ω", "/readings/0/unit", "must be one of"),
    ("readings/0/bound", "over", "/readings/0/bound", "must be one of"),
    ("readings/0/outcome", "pass", "/readings/0/value", "beside outcome"),
    ("readings/0/multiple", "1", "/readings/0/multiple", "rcd-trip-time only"),
    ("readings/0/test_lead", "0.2", "/readings/0/test_lead", "bigger than the reading"),
    ("readings/0/conductor_c", "60", "/readings/0/conductor_c", "at most 40"),
    ("readings/1/multiple", "3", "/readings/1/multiple", "0.5, 1, 2 or 5"),
    ("readings/1/multiple", None, "/readings/1/multiple", "is needed"),
    ("readings/1/phase_deg", 90, "/readings/1/phase_deg", "0 or 180"),
    ("readings/3/outcome", "no-trip", "/readings/3/outcome", "rcd-trip-time only"),
    ("readings/3/outcome", None, "/readings/3/outcome", "is needed"),
    ("readings/3/value", "1", "/readings/3/value", "beside outcome"),
    ("settings", {"step-rounding": "whole"}, "/settings/step-rounding", "no setting"),
    ("sequence", ["visual", "looking"], "/sequence/1", "must be one of"),
    ("house_limits", [{"check": "visual", "unit": "ohm", "at_most": "1"}], "/house_limits/0/unit", "does not belong"),
    ("house_limits", [{"check": "load", "unit": "VA"}], "/house_limits/0", "one of the two"),
    ("house_limits", [{"check": "rcd-trip-time", "unit": "ms", "at_most": "30"}], "/house_limits/0/check", "product"),
    ("house_limits", [{"check": "insulation-resistance", "unit": "Mohm", "at_most": "5"}], "/house_limits/0/at_most",
     "not the side"),
    ("house_limits", [{"check": "load", "unit": "VA", "at_most": "5", "since": "soon"}], "/house_limits/0/since",
     "a day"),
    ("id", ["a"], "/id", "must be text"),
    ("id", "\ud800", "/id", "half a character"),
    ("readings/0/point", "\udfff", "/readings/0/point", "half a character"),
    ("readings/0/value", Decimal("1e-30"), "/readings/0/value", "12 behind it"),
    ("readings/0/value", Decimal("1e400"), "/readings/0/value", "15 digits"),
    ("readings/1/steady", False, "/readings/1/steady", "protective-conductor-resistance only"),
    ("readings/1/conductor_c", "30", "/readings/1/conductor_c", "protective-conductor-resistance only"),
    ("colour", "red", "/colour", "not a field known"),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value", "where", "says"), WRONG)
def test_bad_input_is_told_with_its_place_and_never_guessed(path: str, value: object, where: str, says: str) -> None:
    found = problems(changed(path, value))
    assert [problem for problem in found if problem["path"] == where and says in problem["message"]], found


def test_a_text_of_json_is_read_as_it_stands() -> None:
    """RFC 8259 lets a reader pass over a byte order mark; a name that stands twice has no one meaning."""
    twice = b'{"readings": [{"check": "visual", "value": "5", "value": "0.1"}]}'
    found = problems(parse_json(b"\xef\xbb\xbf" + twice))
    assert {"path": "/readings/0/value", "message": "stands here twice"} in found
    with pytest.raises(ValueError, match="utf-8"):
        parse_json(json.dumps(CASE).encode("utf-16"))


@pytest.mark.parametrize("phase", [180, Decimal("180.0"), Decimal("1.8E+2"), "180"])
def test_a_whole_number_may_be_written_in_any_way(phase: object) -> None:
    answer = judged(changed("readings/1/phase_deg", phase))
    parts = next(check for check in answer["checks"] if check["check"] == "rcd-trip-time")["readings"]
    assert 180 in [part.get("phase_deg") for part in parts]


def test_what_follows_from_the_facts_is_worked_out() -> None:
    """UK training pages on fuses (700 W), IEC 60335-1 (cords), the UK Code of Practice (1.5 × fuse, 25 A)."""
    told = {each["code"]: (each.get("value"), each.get("unit")) for each in judged(CASE)["suggestions"]}
    assert told == {
        "fuse-by-load": ("13", "A"),
        "fuse-by-cord": ("13", "A"),
        "cord-by-current": ("1", "mm²"),
        "earth-test-current": ("19.5", "A"),
        "insulation-test-voltage": ("500", "V"),
        "rcd-test-currents": (None, None),
    }
    small = changed("item/rated_power_w", "700") | {"readings": []}
    assert next(each for each in judged(small)["suggestions"] if each["code"] == "fuse-by-load")["value"] == "3"
    lead = {
        "kind": "extension-lead", "construction": "I", "use": "it", "cord": {"csa_mm2": "1.5", "length_m": "50"},
    }  # fmt: skip
    answer = judged({"rulebook": "uk-2012", "item": lead, "readings": [], "partial": True})
    of_lead = {each["code"]: each.get("value") for each in answer["suggestions"]}
    assert of_lead == {"fuse-by-cord": "13", "lead-length": "15", "lead-loop": "1.33", "insulation-test-voltage": "250"}
    assert (answer["verdict"], answer["sentence"]) == ("pass", "Pass, as far as it goes: no reading was given.")


@pytest.mark.parametrize(
    ("power", "fuse", "small"),
    [("700", "3", False), ("720", "3", False), ("721", "3", True), ("3000", "13", False), ("3121", "13", True)],
)
def test_a_fuse_that_carries_the_load_is_not_called_too_small(power: str, fuse: str, small: bool) -> None:
    """240 V × the fuse: a UK table of fuses gives 720 W for 3 A."""
    case = changed("item/rated_power_w", power)
    case["item"]["fuse_a"] = fuse
    codes = [each["code"] for each in judged(case)["advice"]]
    assert ("fuse-too-small" in codes) is small


def test_a_load_beyond_every_plug_fuse_is_told_so() -> None:
    """13 A × 240 V = 3120 W: above it no fuse of BS 1362 is suggested."""
    answer = judged(changed("item/rated_power_w", "3500"))
    assert "fuse-by-load" not in [each["code"] for each in answer["suggestions"]]
    (small,) = [each["text"] for each in answer["advice"] if each["code"] == "fuse-too-small"]
    assert small.endswith("3500 W: too much for a 13 A plug.")


def test_the_schema_takes_what_is_judged_and_little_else() -> None:
    """By a validator of JSON Schema 2020-12 that others keep."""
    for schema in (CASE_SCHEMA, ANSWER_SCHEMA):
        Draft202012Validator.check_schema(schema)
    takes, answers = Draft202012Validator(CASE_SCHEMA), Draft202012Validator(ANSWER_SCHEMA)
    good = [CASE, changed("readings/1/multiple", 1.0), changed("item/rated_power_w", 2200), changed("readings", [])]
    for case in good:
        takes.validate(case)
        answers.validate(judged(case))
    # Only what is written can be seen by a schema: not, say, that this multiple has no time in this standard.
    unseen = [path for path, value, *_ in WRONG if takes.is_valid(_plain(changed(path, value)))]
    assert len(unseen) <= len(WRONG) // 3, unseen


def _plain(case: Json) -> Any:
    return json.loads(json.dumps(case, default=float))


@pytest.mark.parametrize("case", [None, 3, "case", [], [1]])
def test_what_is_no_case_at_all(case: object) -> None:
    assert problems(case)[0]["message"] == "must be an object with named fields"


def test_all_that_is_wrong_is_told_at_once() -> None:
    assert {"path": "/a~1b~0c", "message": "is not a field known here"} in problems(CASE | {"a/b~c": 1})
    assert len(problems({"item": {"kind": "x", "cord": {"csa_mm2": "x"}}, "readings": [{}, {"check": "load"}]})) >= 6


def test_a_list_is_judged_in_order_and_refused_whole() -> None:
    second = changed("id", "second")
    assert [answer["id"] for answer in judge_cases([CASE, second])] == ["any text", "second"]
    assert judge_cases(CASE)[0]["id"] == "any text"
    assert judge_cases([]) == []
    with pytest.raises(CaseProblems) as refused:
        judge_cases([CASE, changed("readings/0/value", "abc"), {}])
    assert {problem["path"].split("/")[1] for problem in refused.value.problems} == {"1", "2"}


def test_a_number_may_be_a_json_number_as_it_is_written() -> None:
    for value in (0.139, Decimal("0.139"), "0.139", "0.1390"):
        answer = judged(changed("readings/0/value", value))
        earth = next(check for check in answer["checks"] if check["check"] == "protective-conductor-resistance")
        assert (earth["outcome"], earth["margin"]) == ("pass", "0")


def test_no_cord_is_another_thing_than_an_unknown_cord() -> None:
    readings = [{"check": "protective-conductor-resistance", "value": "0.11", "unit": "ohm"}]
    verdicts = []
    cords: tuple[Json, ...] = ({"cord": None}, {}, {"cord": {}}, {"use": "fixed"})
    for cord in cords:
        item = {"kind": "appliance", "construction": "I", **cord}
        case = {"rulebook": "uk-2012", "item": item, "readings": readings, "partial": True}
        verdicts.append(judged(case)["verdict"])
    assert verdicts == ["fail", "decision", "decision", "fail"]


def test_partial_judges_what_is_given_and_still_lists_what_is_missing() -> None:
    case = changed("readings", [{"check": "visual", "outcome": "pass"}])
    whole, part = judged(case), judged({**case, "partial": True})
    assert (whole["verdict"], part["verdict"]) == ("incomplete", "pass")
    assert whole["missing"] == part["missing"] != []


def test_several_points_and_a_firms_own_rules_pass_through() -> None:
    points = [
        {"check": "protective-conductor-resistance", "value": value, "unit": "mohm", "point": point, "test_lead": "20"}
        for value, point in (("120", "lid"), ("165", "handle"))
    ]
    case = changed("readings", points) | {
        "partial": True,
        "sequence": ["visual", "protective-conductor-resistance"],
        "house_limits": [
            {"check": "protective-conductor-resistance", "at_most": "110", "unit": "mohm", "reason": "ours"}
        ],
    }
    answer = judged(case)
    (check,) = answer["checks"]
    assert (check["outcome"], check["limit"]["at_most"], check["point"]) == ("fail", "0.11", "handle")
    assert [part["outcome"] for part in check["readings"]] == ["pass", "fail"]
    assert "left-out" in [advice["code"] for advice in answer["advice"]]


def test_a_250_ma_test_may_be_given_by_its_current() -> None:
    slow = {"check": "rcd-trip-time", "value": "45", "unit": "ms"}
    readings = [{**slow, "test_current_ma": current} for current in ("250", "150")]
    for reading in readings:
        assert judge_case(changed("readings", [reading]) | {"partial": True})["verdict"] == "fail"
    off = changed("readings", [{**readings[0], "test_current_ma": "100"}])
    assert "250 mA" in problems(off)[0]["message"]


def walk(schema: Any, path: str) -> list[str]:
    """Every field that the schema names, as a path into a case."""
    found = []
    for key, inner in schema.get("properties", {}).items():
        found.append(f"{path}/{key}")
        found += walk(inner, f"{path}/{key}")
    if "items" in schema:
        found += walk(schema["items"], f"{path}/0")
    return found


def test_every_field_of_the_schema_is_known_and_no_other() -> None:
    """A field set to a wrong kind of value is told as wrong, never as unknown: the schema and the reader agree."""
    base = CASE | {"house_limits": [{}], "settings": {}}
    base["item"] = {**CASE["item"], "reel": {}}
    fields = walk(CASE_SCHEMA, "")
    assert len(fields) > 50
    for field in fields:
        case = copy.deepcopy(base)
        place: Any = case
        *parents, last = field.strip("/").split("/")
        for key in parents:
            place = place[int(key)] if isinstance(place, list) else place[key]
        if isinstance(place, list):
            continue
        place[last] = {"no": "such"} if last not in ("cord", "rcd", "reel", "item", "decision", "settings") else 3
        told = [problem["message"] for problem in problems(case) if problem["path"] == field]
        assert told, f"{field}: nothing is said"
        assert "is not a field known here" not in told, field


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=300)
@given(st.sampled_from([path.strip("/") for path in walk(CASE_SCHEMA, "")]), json_values)
def test_whatever_is_sent_there_is_an_answer_or_a_list_of_problems(path: str, value: object) -> None:
    try:
        case = changed(path, value)
    except (KeyError, IndexError, TypeError):
        return
    try:
        answer = judged(case)
    except CaseProblems as refused:
        assert all(set(problem) == {"path", "message"} for problem in refused.problems)
        assert refused.problems
    else:
        json.dumps(answer)
