"""What is said of a reading and of an item. Limits: UK Code of Practice as quoted by training pages, IEC 60228 class 5,
DGUV Information 203-070 and 203-071; the order of tests and the locks: common practice, no source.
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from app.rules.checks import Check
from app.rules.decisions import DecisionRule
from app.rules.entries import Decision
from app.rules.equipment import Construction, Cord, ItemFacts, Kind, Rcd, Use
from app.rules.quantities import Bound, Reading, Unit
from app.rules.readings import Entry, judge_entry, judge_item
from app.rules.rulebooks import HouseLimit, Rulebook
from app.rules.verdicts import Outcome, Verdict
from tests.rules.sample_items import (
    CURRENT,
    EARTH,
    EN,
    INSULATION,
    KETTLE,
    LAMP,
    LEAD,
    RCD_LEAD,
    UK,
    UK_2020,
    found,
    tripped,
)

UNKNOWN = ItemFacts(cord=Cord())


def sentence(entry: Entry, item: ItemFacts = KETTLE) -> str:
    return judge_entry(entry, item, UK).sentence


def test_a_verdict_explains_itself() -> None:
    said = "0.21 Ω, at most 0.139 Ω = 0.1 + 1.5 m × 0.0260 Ω/m (IEC 60228, 0.75 mm²): fail, 0.071 Ω over."
    assert sentence(found(EARTH, "0.21")) == said
    assert sentence(found(EARTH, "0.139")).endswith("pass, exactly at the limit.")
    assert sentence(found(EARTH, "0.1")).endswith("pass, 0.039 Ω to spare.")
    assert sentence(found(INSULATION, "0.8")).endswith("fail, 0.2 MΩ short.")
    assert sentence(found(INSULATION, "> 20 MΩ")).startswith("> 20 MΩ, at least 1 MΩ (Class I")
    assert "2.2 kW × 0.75 mA/kW" in sentence(found(CURRENT, "1.2"))


@pytest.mark.parametrize(
    ("text", "outcome"),
    [
        ("< 0.139", Outcome.PASS),
        ("< 0.2", Outcome.INCONCLUSIVE),
        ("> 0.1", Outcome.INCONCLUSIVE),
        ("> 0.139", Outcome.FAIL),
        ("> 20", Outcome.FAIL),
    ],
)
def test_a_bounded_reading_that_straddles_the_limit_is_inconclusive(text: str, outcome: Outcome) -> None:
    assert judge_entry(found(EARTH, text), KETTLE, UK).outcome is outcome


@pytest.mark.parametrize(
    ("text", "outcome"),
    [("> 1", Outcome.PASS), ("> 0.5", Outcome.INCONCLUSIVE), ("< 1", Outcome.FAIL), ("< 20", Outcome.INCONCLUSIVE)],
)
def test_the_same_for_a_limit_from_below(text: str, outcome: Outcome) -> None:
    assert judge_entry(found(INSULATION, text), KETTLE, UK).outcome is outcome


@pytest.mark.parametrize(
    ("cord", "text", "outcome", "asks"),
    [
        (Cord(), "0.1", Outcome.PASS, ""),
        (Cord(), "0.15", Outcome.INCONCLUSIVE, "Enter the cord size and length"),
        (Cord(csa_mm2=Decimal("0.75")), "0.15", Outcome.INCONCLUSIVE, "Enter the cord length"),
        (Cord(length_m=Decimal(2)), "0.15", Outcome.INCONCLUSIVE, "Enter the cord size"),
        (Cord(length_m=Decimal(2)), "0.19", Outcome.FAIL, ""),
        (Cord(Decimal("0.9"), Decimal(2)), "0.15", Outcome.INCONCLUSIVE, "0.9 mm² is in no table"),
        (Cord(), "> 20", Outcome.FAIL, ""),
    ],
)
def test_an_unknown_cord_asks_for_what_is_missing(cord: Cord, text: str, outcome: Outcome, asks: str) -> None:
    """At most 0.1 Ω is sure to be right for any cord; beyond 0.1 Ω + 2 m × 0.039 Ω/m no cord of 2 m explains it."""
    verdict = judge_entry(found(EARTH, text), ItemFacts(cord=cord), UK)
    assert verdict.outcome is outcome
    assert asks in verdict.sentence


def test_an_unknown_cord_makes_the_item_need_a_decision_and_locks_what_energises_it() -> None:
    entries = [found(Check.VISUAL), found(EARTH, "0.15"), found(INSULATION, "> 20")]
    verdict = judge_item(UNKNOWN, entries, UK)
    assert verdict.verdict is Verdict.DECISION
    assert {check for check, _ in verdict.locked} >= {CURRENT, Check.FUNCTIONAL, Check.LOAD}
    assert "limit-needs-fact" in [advice.code for advice in verdict.advice]


def test_all_required_checks_passed_is_a_pass() -> None:
    entries = [found(Check.VISUAL), found(EARTH, "0.12"), found(INSULATION, "> 20")]
    verdict = judge_item(KETTLE, entries, UK)
    assert (verdict.verdict, verdict.missing, verdict.locked, verdict.waiting) == (Verdict.PASS, (), (), ())


@pytest.mark.parametrize("left_out", [Check.VISUAL, EARTH, INSULATION])
def test_a_missing_required_check_is_incomplete_and_never_pass(left_out: Check) -> None:
    entries = [found(Check.VISUAL), found(EARTH, "0.12"), found(INSULATION, "> 20"), found(Check.FUNCTIONAL)]
    kept = [entry for entry in entries if entry.check is not left_out]
    for given in (kept, [*kept, found(left_out, "not-done")]):
        verdict = judge_item(KETTLE, given, UK)
        assert (verdict.verdict, verdict.missing) == (Verdict.INCOMPLETE, (left_out,))
    assert judge_item(KETTLE, kept, UK, partial=True).verdict is Verdict.PASS


def test_energising_checks_wait_for_the_safety_checks_before_them() -> None:
    verdict = judge_item(KETTLE, [found(Check.VISUAL)], UK)
    waiting = dict(verdict.waiting)
    assert "Do the protective conductor resistance first" in waiting[Check.FUNCTIONAL]
    assert judge_item(KETTLE, [], UK).verdict is Verdict.INCOMPLETE


@pytest.mark.parametrize(
    ("failed", "locked"),
    [
        (found(Check.VISUAL, "fail"), {EARTH, INSULATION, CURRENT, Check.FUNCTIONAL, Check.LOAD}),
        (found(EARTH, "0.5"), {INSULATION, CURRENT, Check.FUNCTIONAL, Check.LOAD}),
        (found(INSULATION, "0.2"), {CURRENT, Check.FUNCTIONAL, Check.LOAD}),
    ],
)
def test_a_failed_safety_check_locks_every_later_one_and_says_why(failed: Entry, locked: set[Check]) -> None:
    before = [entry for entry in (found(Check.VISUAL), found(EARTH, "0.1")) if entry.check is not failed.check]
    before = before if failed.check is INSULATION else [entry for entry in before if entry.check is Check.VISUAL]
    verdict = judge_item(KETTLE, [failed, *before], UK)
    assert verdict.verdict is Verdict.FAIL
    assert {check for check, _ in verdict.locked} >= locked
    assert EARTH in locked or EARTH not in {check for check, _ in verdict.locked}
    assert all(f"The {failed.check.word} failed" in why for _, why in verdict.locked)


def test_an_energised_check_after_a_failure_is_told() -> None:
    verdict = judge_item(KETTLE, [found(EARTH, "0.5"), found(Check.FUNCTIONAL)], UK)
    assert "energised-after-failure" in [advice.code for advice in verdict.advice]


def test_the_worst_of_several_points_counts_and_each_is_kept() -> None:
    points = [found(EARTH, text, point) for text, point in (("0.11", "lid"), ("0.145", "handle"), ("0.12", "base"))]
    (answer,) = judge_item(KETTLE, points, UK, partial=True).checks
    assert (answer.outcome, len(answer.parts)) == (Outcome.FAIL, 3)
    assert answer.sentence.startswith("handle: 0.145 Ω")


def test_the_test_lead_is_subtracted_in_the_open() -> None:
    entry = Entry(EARTH, Reading(Decimal("0.17"), Unit.OHM), lead=Reading(Decimal("0.04"), Unit.OHM))
    verdict = judge_entry(entry, KETTLE, UK)
    assert verdict.outcome is Outcome.PASS
    assert verdict.sentence.startswith("0.17 Ω less 0.04 Ω of test lead = 0.13 Ω, at most 0.139 Ω")
    too_big = replace(entry, lead=Reading(Decimal("0.2"), Unit.OHM))
    with pytest.raises(ValueError, match="bigger than the reading"):
        judge_entry(too_big, KETTLE, UK)


def test_a_reading_that_jumps_is_a_fault() -> None:
    """Protective conductor: a reading that jumps, even briefly, counts as a fault (German trade reference)."""
    assert judge_entry(replace(found(EARTH, "0.05"), steady=False), KETTLE, UK).outcome is Outcome.FAIL


@pytest.mark.parametrize("stand_in", [found(CURRENT, "0.3"), found(Check.SUBSTITUTE_LEAKAGE_CURRENT, "0.3")])
def test_a_leakage_current_may_stand_in_for_insulation(stand_in: Entry) -> None:
    """Where insulation cannot be tested or is refused, a leakage measurement may replace it (UK tester's notes)."""
    entries = [found(Check.VISUAL), found(EARTH, "0.1"), stand_in]
    verdict = judge_item(KETTLE, entries, UK)
    assert (verdict.verdict, verdict.missing) == (Verdict.PASS, ())
    assert "stands-in" in [advice.code for advice in verdict.advice]
    assert judge_item(KETTLE, entries, UK_2020).missing == (INSULATION,), "insulation for all in the 5th edition"
    computer = replace(KETTLE, use=Use.IT, heating=False)
    assert judge_item(computer, entries, UK_2020).missing == ()


def test_a_failed_stand_in_stands_for_nothing() -> None:
    verdict = judge_item(LAMP, [found(Check.VISUAL), found(Check.TOUCH_CURRENT, "0.3")], UK)
    assert (verdict.verdict, verdict.missing) == (Verdict.FAIL, (INSULATION,))


def test_every_outlet_of_a_lead_is_tested() -> None:
    block = replace(LEAD, kind=Kind.MULTIWAY_LEAD, outlets=3)
    entries = [found(Check.VISUAL), found(Check.POLARITY), found(INSULATION, "> 20")]
    outlets = [found(EARTH, "0.12", f"outlet {place}") for place in (1, 2, 3)]
    assert judge_item(block, [*entries, *outlets], UK).verdict is Verdict.PASS
    some = judge_item(block, [*entries, *outlets[:2]], UK)
    assert some.verdict is Verdict.INCOMPLETE
    assert "2 of 3 outlets" in some.unfinished[0][1]


def test_an_extension_lead_needs_polarity_and_an_earth() -> None:
    entries = [found(Check.VISUAL), found(EARTH, "0.12"), found(INSULATION, "> 20")]
    assert judge_item(LEAD, entries, UK).missing == (Check.POLARITY,)
    without = judge_item(replace(LEAD, construction=Construction.CLASS_II), entries, UK)
    assert without.verdict is Verdict.FAIL
    assert "lead-without-earth" in [advice.code for advice in without.advice]


SET = [
    tripped("0.5", 0, "no-trip"),
    tripped("1", 0, "28"),
    tripped("1", 180, "31"),
    tripped("5", 0, "12"),
    tripped("5", 180, "14"),
]
BEFORE = [found(Check.VISUAL), found(EARTH, "0.2"), found(Check.POLARITY), found(INSULATION, "> 20")]


def test_a_whole_set_of_trip_tests_passes_and_part_of_it_is_incomplete() -> None:
    assert judge_item(RCD_LEAD, [*BEFORE, *SET], UK).verdict is Verdict.PASS
    part = judge_item(RCD_LEAD, [*BEFORE, *SET[:3]], UK)
    assert (part.verdict, part.missing) == (Verdict.INCOMPLETE, ())
    assert part.unfinished == ((Check.RCD_TRIP_TIME, "RCD tests still to do: 5 × at 0°, 5 × at 180°."),)
    none = judge_item(RCD_LEAD, BEFORE, UK)
    assert none.missing == (Check.RCD_TRIP_TIME,)
    larger = replace(RCD_LEAD, rcd=Rcd(Decimal(100), "EN 61008"))
    assert judge_item(larger, [*BEFORE, *SET[:3]], UK).unfinished == ()


@pytest.mark.parametrize(
    ("entry", "outcome"),
    [
        (tripped("0.5", 0, "90"), Outcome.FAIL),
        (tripped("0.5", 0, "> 1999"), Outcome.PASS),
        (tripped("0.5", 0, "> 300"), Outcome.INCONCLUSIVE),
        (tripped("1", 0, "no-trip"), Outcome.FAIL),
        (tripped("1", 0, "> 300"), Outcome.FAIL),
        (tripped("1", 0, "< 10"), Outcome.PASS),
        (tripped("2", 0, "90"), Outcome.INCONCLUSIVE),
    ],
)
def test_trip_tests_one_by_one(entry: Entry, outcome: Outcome) -> None:
    """BS 7071 (from memory): 200 ms at 1 ×, no figure at 2 ×; half current must not trip."""
    assert judge_entry(entry, RCD_LEAD, UK).outcome is outcome


def test_250_ma_may_stand_for_five_times() -> None:
    """IEC 61008: for 30 mA or less, 250 mA may be used in place of 5 ×."""
    rated = replace(RCD_LEAD, rcd=Rcd(Decimal(10), "EN 61008"))
    entry = tripped("25", 0, "45")
    assert judge_entry(entry, rated, UK).limit is not None
    assert judge_entry(entry, rated, UK).outcome is Outcome.FAIL


def test_an_earth_that_protects_nobody_has_no_limit() -> None:
    """DGUV Information 203-070, 7.2.1 and 7.2.2."""
    for item in (
        replace(KETTLE, earthed_metal=False),
        replace(LAMP, construction=Construction.CLASS_II_FUNCTIONAL_EARTH),
    ):
        verdict = judge_item(item, [found(Check.VISUAL), found(EARTH, "5"), found(INSULATION, "> 20")], UK)
        assert verdict.verdict is Verdict.PASS
    odd = judge_entry(found(EARTH, "0.05"), LAMP, UK)
    assert odd.outcome is Outcome.INCONCLUSIVE
    through = replace(LAMP, through_earth=True)
    assert judge_entry(found(EARTH, "0.5"), through, UK).outcome is Outcome.FAIL


def test_the_output_side_must_stay_separate() -> None:
    """Safe separation at least 2 MΩ (DGUV Information 203-071, annex 5); the UK rulebooks have no own figure."""
    charger = replace(KETTLE, kind=Kind.CHARGER, heating=False)
    assert judge_entry(found(INSULATION, "1.5"), charger, UK).outcome is Outcome.PASS
    assert judge_entry(found(INSULATION, "1.5", "output"), charger, EN).outcome is Outcome.FAIL
    foreign = judge_entry(found(INSULATION, "1.5", " Output"), charger, UK)
    assert (foreign.outcome, "a person decides" in foreign.sentence) == (Outcome.INCONCLUSIVE, True)


def test_the_output_side_does_not_stand_for_the_mains_side() -> None:
    charger = replace(LAMP, kind=Kind.CHARGER, fuse_a=None)
    output, mains = found(INSULATION, "5", "output"), found(INSULATION, "5")
    half = judge_item(charger, [found(Check.VISUAL), output], UK)
    assert (half.verdict, [check for check, _ in half.unfinished]) == (Verdict.INCOMPLETE, [INSULATION])
    whole = judge_item(charger, [found(Check.VISUAL), mains, output], UK)
    assert (whole.verdict, whole.unfinished) == (Verdict.PASS, ())
    one = judge_item(charger, [found(Check.VISUAL), mains], UK)
    assert (one.verdict, [advice.code for advice in one.advice]) == (Verdict.PASS, ["output-side"])


@pytest.mark.parametrize("book", [UK, UK_2020, EN])
def test_metal_that_is_not_joined_to_earth_is_tested_as_class_ii(book: Rulebook) -> None:
    """DGUV Information 203-070, 7.2.1: no proof of the protective conductor; the other tests as for Class II."""
    pump = replace(KETTLE, use=Use.STATIONARY, earthed_metal=False)
    double = replace(pump, construction=Construction.CLASS_II, earthed_metal=True)
    for check, text in ((INSULATION, "1.5"), (Check.SUBSTITUTE_LEAKAGE_CURRENT, "0.6"), (Check.TOUCH_CURRENT, "0.3")):
        mine, theirs = (judge_entry(found(check, text), each, book) for each in (pump, double))
        assert (mine.outcome, mine.margin) == (theirs.outcome, theirs.margin)
    said = judge_entry(found(INSULATION, "1.5"), pump, book).sentence
    assert said.startswith("1.5 MΩ, at least 2 MΩ (Class II, its metal not being joined to earth")
    lead = replace(LEAD, earthed_metal=False)
    assert judge_entry(found(INSULATION, "1.5"), lead, book).outcome is Outcome.PASS, "a lead has no such metal"


def test_polarity_named_by_outlet_is_looked_at_at_every_outlet() -> None:
    lead = replace(LEAD, kind=Kind.MULTIWAY_LEAD, outlets=2)
    others = [found(Check.VISUAL), found(INSULATION, "> 20"), *(found(EARTH, "0.1", f"outlet {n}") for n in (1, 2))]
    assert judge_item(lead, [*others, found(Check.POLARITY)], UK).verdict is Verdict.PASS
    first = found(Check.POLARITY, point="outlet 1")
    assert dict(judge_item(lead, [*others, first], UK).unfinished)[Check.POLARITY].startswith("1 of 2 outlets")
    assert judge_item(lead, [*others, first, found(Check.POLARITY, point="outlet 2")], UK).verdict is Verdict.PASS


def test_a_load_above_the_rating_needs_a_person() -> None:
    """Deviation of the rated power upwards: 5 % or 20 W for heating above 200 W (EN 60335-1, 10.1, from memory)."""
    assert judge_entry(found(Check.LOAD, "2310"), KETTLE, UK).outcome is Outcome.PASS
    heavy = judge_item(KETTLE, [found(Check.LOAD, "2400")], UK, partial=True)
    assert heavy.verdict is Verdict.DECISION
    unrated = judge_entry(found(Check.LOAD, "2400"), replace(KETTLE, rated_power_w=None), UK)
    assert (unrated.outcome, unrated.working) == (Outcome.PASS, "noted; no rating is known to compare it with")


def test_the_acceptance_limit_is_shown_with_a_guard_band() -> None:
    rule = Decision(DecisionRule.FOUR_WAY, Decimal("0.01"))
    verdict = judge_entry(found(EARTH, "0.135"), KETTLE, UK, rule)
    assert verdict.outcome is Outcome.CONDITIONAL_PASS
    assert "accepted up to 0.129 Ω with an expanded uncertainty of 0.01 Ω" in verdict.sentence
    own = replace(found(EARTH, "0.135"), uncertainty=Decimal("0.002"))
    assert judge_entry(own, KETTLE, UK, rule).outcome is Outcome.PASS


def test_a_conditional_pass_is_told_and_a_conditional_fail_needs_a_person() -> None:
    rule = Decision(DecisionRule.FOUR_WAY, Decimal(10), Unit.MILLIOHM)
    entries = [found(Check.VISUAL), found(INSULATION, "> 20")]
    kept = judge_item(KETTLE, [*entries, found(EARTH, "0.135")], UK, decision=rule)
    assert (kept.verdict, "conditional-pass" in [advice.code for advice in kept.advice]) == (Verdict.PASS, True)
    doubtful = judge_item(KETTLE, [*entries, found(EARTH, "0.145")], UK, decision=rule)
    assert doubtful.verdict is Verdict.DECISION


def test_a_house_limit_is_stricter_or_nothing() -> None:
    own = HouseLimit("insulation-resistance", Decimal(2), Unit.MEGOHM, True, "kitchens are damp", "2026-01-01")
    strict = judge_entry(found(INSULATION, "1.5"), KETTLE, UK.with_house((own,)))
    assert strict.outcome is Outcome.FAIL
    assert "kitchens are damp" in strict.sentence
    both = UK.with_house((own, replace(own, value=Decimal(3), reason="asked for by the insurer")))
    working = judge_entry(found(INSULATION, "1.5"), KETTLE, both).working
    # HSE and the UK Code: 1 MΩ for Class I. Another house limit is not what the rulebook says.
    assert "insurer" in working and "the rulebook says at least 1 MΩ" in working and "damp" not in working
    loose = replace(own, value=Decimal("0.1"))
    assert judge_entry(found(INSULATION, "0.5"), KETTLE, UK.with_house((loose,))).outcome is Outcome.FAIL
    cord = HouseLimit("protective-conductor-resistance", Decimal("0.2"), Unit.OHM, False, "ours", "2026-01-01")
    assert judge_entry(found(EARTH, "0.25"), UNKNOWN, UK.with_house((cord,))).outcome is Outcome.FAIL


def test_a_unit_of_another_kind_cannot_be_judged() -> None:
    with pytest.raises(ValueError, match="measures resistance"):
        judge_entry(Entry(CURRENT, Reading(Decimal(1), Unit.OHM)), KETTLE, UK)
    with pytest.raises(ValueError, match="Nothing is entered"):
        judge_entry(Entry(Check.VISUAL), KETTLE, UK)
    with pytest.raises(ValueError, match="has no number"):
        judge_entry(Entry(Check.POLARITY, Reading(Decimal(1), Unit.OHM, Bound.EXACT)), LEAD, UK)


def test_what_was_noted_without_its_value_or_its_person_is_told() -> None:
    bare = judge_item(KETTLE, [found(EARTH)], UK, partial=True)
    assert (bare.verdict, [advice.code for advice in bare.advice][-1]) == (Verdict.PASS, "no-value")
    flash = judge_item(KETTLE, [found(Check.DIELECTRIC_STRENGTH)], UK, partial=True, dielectric=True)
    assert "name-competent-person" in [advice.code for advice in flash.advice]


def test_the_european_rulebook_asks_for_the_current_too() -> None:
    """EN 50699: protective conductor and touch current belong to the sequence (from memory)."""
    entries = [found(Check.VISUAL), found(EARTH, "0.25"), found(INSULATION, "> 20")]
    assert judge_item(KETTLE, entries, EN).missing == (CURRENT,)
    assert judge_item(KETTLE, [*entries, found(CURRENT, "1")], EN).verdict is Verdict.PASS
    instead = found(Check.SUBSTITUTE_LEAKAGE_CURRENT, "1")
    both = judge_item(KETTLE, [*entries, instead], EN)
    assert (both.verdict, "the insulation test was passed" in both.advice[0].text) == (Verdict.PASS, True)
    alone = judge_item(KETTLE, [*entries[:2], instead], EN)
    assert (alone.verdict, alone.missing) == (Verdict.INCOMPLETE, (CURRENT,)), "it stands in for one check only"
