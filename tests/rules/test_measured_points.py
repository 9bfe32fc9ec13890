"""Places and directions of a protective conductor test. Both ways round on d.c.: EN 50699, 5.3, from memory; the worst
reading counts and every outlet of a lead is tested: common practice, no source.
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from app.rules.checks import Check
from app.rules.points import Way, describe_measured_point, list_half_measured, parse_measured_point
from app.rules.quantities import Reading, Unit
from app.rules.readings import Entry, judge_item
from app.rules.verdicts import Outcome, Verdict
from tests.rules.sample_items import EARTH, INSULATION, KETTLE, LEAD, UK, found


@pytest.mark.parametrize("place", ["", "outlet 2", "screw, left", "forward"])
@pytest.mark.parametrize("way", [None, *Way])
def test_a_point_is_read_back_as_it_was_written(place: str, way: Way | None) -> None:
    point = describe_measured_point(place, way)
    if (place, way) == ("forward", None):
        assert parse_measured_point(point) == ("", Way.FORWARD), "a place cannot be called by the name of a way"
    else:
        assert parse_measured_point(point) == (place, way)


def test_half_measured_places_are_named() -> None:
    assert list_half_measured(["body, forward", "body, reversed", "lid, forward"]) == ["lid, reversed"]
    assert list_half_measured(["reversed"]) == ["forward"]
    assert list_half_measured(["body", "lid", ""]) == []


def earth(point: str, ohms: str = "0.10") -> Entry:
    return Entry(EARTH, Reading(Decimal(ohms), Unit.OHM), point=point)


def test_one_way_alone_leaves_the_item_incomplete_and_the_worse_way_counts() -> None:
    others = [found(Check.VISUAL), found(INSULATION, "50")]
    assert judge_item(KETTLE, [*others, earth("forward")], UK).verdict is Verdict.INCOMPLETE
    assert judge_item(KETTLE, [*others, earth("forward"), earth("reversed")], UK).verdict is Verdict.PASS
    judged = judge_item(KETTLE, [*others[:1], earth("forward"), earth("reversed", "0.9")], UK)
    assert judged.verdict is Verdict.FAIL
    answer = next(each for each in judged.checks if each.check is EARTH)
    assert answer.entry is not None and answer.entry.point == "reversed"
    assert [part.outcome for part in answer.parts] == [Outcome.PASS, Outcome.FAIL], "each reading is kept"


def test_two_ways_at_one_outlet_are_one_outlet() -> None:
    two = replace(LEAD, outlets=2)
    both = [earth("outlet 1, forward"), earth("outlet 1, reversed")]
    others = [found(Check.VISUAL), found(Check.POLARITY), found(INSULATION, "50")]
    assert judge_item(two, [*others, *both], UK).unfinished[0][1] == "1 of 2 outlets tested: every outlet of a lead is."
    whole = [*both, earth("outlet 2, forward"), earth("outlet 2, reversed")]
    assert judge_item(two, [*others, *whole], UK).unfinished == ()
