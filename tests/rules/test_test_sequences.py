"""Which checks an item gets, and in which order. Order and cautions: common practice, no source; leads and their
outlets: trade pages on extension leads; functional earth: DGUV Information 203-070, 7.2.
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from app.rules.checks import CURRENTS, UNITS, Check, Step, check_sequence, suggest_insulation_volts
from app.rules.equipment import Construction, Cord, ItemFacts, Kind, Supply, Use
from app.rules.limits import limit_for
from app.rules.readings import judge_item
from app.rules.rulebooks import RULEBOOKS, Rulebook
from app.rules.sequences import check_own_sequence, list_left_out
from app.rules.verdicts import Verdict
from app.rules.visual_points import list_visual_points
from tests.rules.sample_items import EARTH, EN, INSULATION, KETTLE, LAMP, LEAD, RCD_LEAD, UK, found


def required(item: ItemFacts, book: str = "uk-2012") -> list[Check]:
    return [step.check for step in check_sequence(item, RULEBOOKS[book]) if step.required]


EVERY_ITEM = [
    ItemFacts(kind=kind, construction=construction, use=use, supply=supply, heating=heating)
    for kind in Kind
    for construction in Construction
    for use in (Use.HAND_HELD, Use.IT, Use.FIXED)
    for supply in Supply
    for heating in (False, True)
]


@pytest.mark.parametrize("book", RULEBOOKS.values(), ids=lambda book: book.id)
def test_every_kind_is_looked_at_first_and_energised_last(book: Rulebook) -> None:
    for item in EVERY_ITEM:
        steps = check_sequence(item, book, dielectric=True)
        energised = [step.energises for step in steps]
        assert steps[0].check is Check.VISUAL
        assert energised == sorted(energised), f"{item}: a check that does not energise comes after one that does"
        assert len({step.check for step in steps}) == len(steps)
        for step in steps:
            assert step.unit is UNITS.get(step.check)
            assert step.cautions
            assert step.how.endswith((".", "."))
            if step.check in (EARTH, INSULATION, *CURRENTS) and step.required:
                limit = limit_for(step.check, item, book)
                assert limit is not None
                assert limit.sentence.endswith(".")


@pytest.mark.parametrize(
    ("item", "checks"),
    [
        (KETTLE, [Check.VISUAL, EARTH, INSULATION]),
        (LAMP, [Check.VISUAL, INSULATION]),
        (replace(LAMP, construction=Construction.CLASS_III), [Check.VISUAL, INSULATION]),
        (replace(LAMP, construction=Construction.CLASS_II_FUNCTIONAL_EARTH), [Check.VISUAL, INSULATION]),
        (replace(LAMP, through_earth=True), [Check.VISUAL, EARTH, INSULATION]),
        (replace(KETTLE, earthed_metal=False), [Check.VISUAL, INSULATION]),
        (LEAD, [Check.VISUAL, EARTH, Check.POLARITY, INSULATION]),
        (RCD_LEAD, [Check.VISUAL, EARTH, Check.POLARITY, INSULATION, Check.RCD_TRIP_TIME]),
        (ItemFacts(kind=Kind.PORTABLE_RCD, construction=Construction.CLASS_II), [Check.VISUAL, Check.RCD_TRIP_TIME]),
    ],
)
def test_what_each_kind_needs(item: ItemFacts, checks: list[Check]) -> None:
    assert required(item) == checks
    assert required(item, "uk-2020") == checks


def test_the_european_sequence_measures_a_current() -> None:
    assert required(KETTLE, "en-50699") == [Check.VISUAL, EARTH, INSULATION, Check.PROTECTIVE_CONDUCTOR_CURRENT]
    assert required(LAMP, "en-50699") == [Check.VISUAL, INSULATION, Check.TOUCH_CURRENT]


def test_what_may_stand_in_for_what_says_when() -> None:
    for book in RULEBOOKS.values():
        for item in EVERY_ITEM:
            for step in check_sequence(item, book):
                assert bool(step.when) or not step.instead_of
    stand_ins = {step.check for step in check_sequence(KETTLE, UK) if INSULATION in step.instead_of}
    assert stand_ins == {Check.PROTECTIVE_CONDUCTOR_CURRENT, Check.SUBSTITUTE_LEAKAGE_CURRENT}


def step_of(item: ItemFacts, check: Check) -> Step:
    return next(step for step in check_sequence(item, UK) if step.check is check)


def test_electronics_get_250_v_and_a_low_earth_current() -> None:
    """EN 50699, 5.4, as quoted in the UK national foreword: 500 V d.c., 250 V d.c. with surge suppressors."""
    computer = replace(KETTLE, use=Use.IT, heating=False)
    assert suggest_insulation_volts(KETTLE) == 500
    assert suggest_insulation_volts(computer) == suggest_insulation_volts(replace(KETTLE, sensitive=True)) == 250
    assert step_of(computer, INSULATION).how.startswith("250 V")
    assert "low test current" in " ".join(step_of(computer, EARTH).cautions)
    assert Check.DIELECTRIC_STRENGTH not in [step.check for step in check_sequence(computer, UK, dielectric=True)]


def test_three_phase_joins_all_lines() -> None:
    three = ItemFacts(kind=Kind.THREE_PHASE_LEAD, supply=Supply.THREE_PHASE_400)
    assert "all lines and neutral joined" in step_of(three, INSULATION).how
    assert "phase sequence" in step_of(three, Check.POLARITY).how
    site = replace(LEAD, supply=Supply.CENTRE_TAPPED_110)
    assert "Each live conductor" in step_of(site, Check.POLARITY).how


def test_dielectric_strength_is_off_unless_the_firm_turns_it_on() -> None:
    assert Check.DIELECTRIC_STRENGTH not in [step.check for step in check_sequence(KETTLE, UK)]
    on = check_sequence(KETTLE, UK, dielectric=True, after_repair=True)
    step = next(step for step in on if step.check is Check.DIELECTRIC_STRENGTH)
    assert not step.required
    assert "named competent person" in step.how
    assert next(step for step in on if step.check is Check.FUNCTIONAL).required


def test_an_own_sequence_is_put_in_safe_order_and_says_what_it_leaves_out() -> None:
    own = (Check.FUNCTIONAL, EARTH, Check.VISUAL)
    assert [step.check for step in check_own_sequence(own, KETTLE, UK)] == [Check.VISUAL, EARTH, Check.FUNCTIONAL]
    assert list_left_out(own, KETTLE, UK) == (INSULATION,)
    assert list_left_out((*own, Check.PROTECTIVE_CONDUCTOR_CURRENT), KETTLE, UK) == ()
    entries = [found(check) if check is not EARTH else found(check, "0.1") for check in own]
    verdict = judge_item(KETTLE, entries, UK, own=own)
    assert verdict.verdict is Verdict.PASS
    assert [advice.text for advice in verdict.advice if advice.code == "left-out"] == [
        "The firm's own sequence leaves out what UK, limits of 2012 asks for: insulation resistance."
    ]
    assert judge_item(KETTLE, entries[1:], UK, own=own).missing == (Check.FUNCTIONAL,)


def test_the_visual_points_fit_the_item() -> None:
    def codes(item: ItemFacts) -> set[str]:
        points = list_visual_points(item)
        assert len({point.code for point in points}) == len(points)
        return {point.code for point in points}

    assert {"plug-fuse", "cord-sheath", "case", "suitable"} <= codes(KETTLE)
    assert {"outlets", "lead-earth", "lead-flex"} <= codes(LEAD)
    assert "rcd-button" in codes(RCD_LEAD)
    assert "door" in codes(replace(KETTLE, kind=Kind.MICROWAVE_OVEN))
    assert "cord-sheath" not in codes(replace(KETTLE, cord=None, use=Use.FIXED))
    site = replace(KETTLE, supply=Supply.CENTRE_TAPPED_110, cord=Cord(Decimal("2.5"), Decimal(10)))
    assert "industrial-plug" in codes(site)
    assert "plug-fuse" not in codes(site)


def test_a_rulebook_that_asks_for_nothing_new_changes_nothing_for_class_iii() -> None:
    low = ItemFacts(construction=Construction.CLASS_III)
    entries = [found(Check.VISUAL), found(INSULATION, "0.25")]
    assert [judge_item(low, entries, book).verdict for book in (UK, EN)] == [Verdict.PASS, Verdict.PASS]
