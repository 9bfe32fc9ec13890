"""Entries for checks that an earlier one has locked. Common practice, no source: a failed item is not energised."""

from dataclasses import replace
from decimal import Decimal

from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.equipment import Cord, ItemFacts
from app.rules.locked_entries import list_locked_entries
from app.rules.quantities import Reading, Unit
from app.rules.rulebooks import rulebook_named
from app.rules.verdicts import Outcome

UK = rulebook_named("uk-2012")
KETTLE = ItemFacts(heating=True, rated_power_w=Decimal(2200), cord=Cord(Decimal("0.75"), Decimal("1.5")))
LOOKED_AT = Entry(Check.VISUAL, outcome=Outcome.PASS)
INSULATED = Entry(Check.INSULATION_RESISTANCE, Reading(Decimal(50), Unit.MEGOHM))
WORKS = Entry(Check.FUNCTIONAL, outcome=Outcome.PASS)


def earth(value: str) -> Entry:
    return Entry(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Reading(Decimal(value), Unit.OHM))


def locked(item: ItemFacts, *entries: Entry) -> list[Check]:
    return [entry.check for entry, _ in list_locked_entries(item, entries, UK)]


def test_after_a_failure_every_later_check_is_locked_in_whatever_order_they_come() -> None:
    # 0.139 Ω is the limit: 0.1 + 1.5 m × 0.0260 Ω/m (IEC 60228 class 5, 0.75 mm²).
    assert locked(KETTLE, WORKS, INSULATED, earth("0.14"), LOOKED_AT) == [WORKS.check, INSULATED.check]
    assert locked(KETTLE, LOOKED_AT, earth("0.139"), INSULATED, WORKS) == []


def test_a_defect_seen_locks_all_the_tests() -> None:
    seen = Entry(Check.VISUAL, outcome=Outcome.FAIL, point="case", note="Cracked")
    assert locked(KETTLE, seen, earth("0.1"), INSULATED) == [earth("0.1").check, INSULATED.check]


def test_the_failed_check_itself_and_those_before_it_stand() -> None:
    low = Entry(Check.INSULATION_RESISTANCE, Reading(Decimal("0.2"), Unit.MEGOHM))
    found = list_locked_entries(KETTLE, [LOOKED_AT, earth("0.1"), low, WORKS], UK)
    assert [(entry.check, sentence) for entry, sentence in found] == [
        (Check.FUNCTIONAL, "The insulation resistance failed: stop here, do not energise the item.")
    ]


def test_an_open_question_locks_only_what_energises() -> None:
    unknown = ItemFacts(cord=Cord(None, None))
    assert locked(unknown, LOOKED_AT, earth("0.15"), INSULATED, WORKS) == [Check.FUNCTIONAL]


def test_a_check_marked_as_not_done_is_not_an_entry() -> None:
    assert locked(KETTLE, LOOKED_AT, earth("0.9"), Entry(Check.FUNCTIONAL, outcome=Outcome.NOT_DONE)) == []


def test_a_fuse_too_large_for_the_cord_locks_what_energises_until_it_is_changed() -> None:
    # A cord of 0.5 mm² carries 3 A (UK Code of Practice's cord ratings, as quoted by training pages).
    lamp = ItemFacts(cord=Cord(Decimal("0.5"), Decimal(2)), fuse_a=Decimal(13))
    assert locked(lamp, LOOKED_AT, earth("0.1"), INSULATED, WORKS) == [Check.FUNCTIONAL]
    assert locked(replace(lamp, fuse_a=Decimal(3)), LOOKED_AT, earth("0.1"), INSULATED, WORKS) == []
