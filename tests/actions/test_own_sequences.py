"""Own sequences, tests after a repair, dielectric strength, and how protective conductors are measured, in the store.

What the rulebook asks of a Class I kettle (looking, protective conductor, insulation): UK Code of Practice, 4th
edition, as quoted by training pages. 0.139 Ω is 0.1 + 1.5 m of 0.75 mm² at 0.0260 Ω/m (the same Code; IEC 60228,
class 5).
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from app.actions import firms, items, visits
from app.actions.deeds import Desk
from app.actions.people import change_person
from app.actions.readings import record_item
from app.rules.checks import Check
from app.rules.people import Person, PersonDetails, Role
from app.rules.quantities import Reading, Unit
from app.rules.readings import Entry, ItemVerdict
from app.rules.verdicts import Mistakes, Outcome, Refused, Verdict
from app.rules.visits import Method
from app.store.firms import get_firm
from app.store.items import get_item
from app.store.paper_facts import facts_for_certificate
from app.store.readings import get_visit_item
from app.store.visits import get_visit
from tests.cast import World

LOOKED_AT = Entry(Check.VISUAL, outcome=Outcome.PASS)
WORKS = Entry(Check.FUNCTIONAL, outcome=Outcome.PASS)
INSULATED = Entry(Check.INSULATION_RESISTANCE, Reading(Decimal(50), Unit.MEGOHM))
WITHSTOOD = Entry(Check.DIELECTRIC_STRENGTH, Reading(Decimal("0.4"), Unit.MILLIAMP))
SHORT = ["visual", "insulation-resistance", "functional"]
GAP = "The firm's own sequence leaves out what UK, limits of 2012 asks for: protective conductor resistance."


def earth(ohms: str, **more: object) -> Entry:
    return Entry(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Reading(Decimal(ohms), Unit.OHM), **more)  # type: ignore[arg-type]


def begin(desk: Desk, world: World, own: list[str] | None = None) -> None:
    with desk.doing(world.owner) as deed:
        details = get_item(deed.session, world.item_ids[0]).details
        items.change_item(deed, world.item_ids[0], replace(details, own_checks=own))
        visits.start_visit(deed, world.visit_id)


def record(desk: Desk, world: World, *entries: Entry, after_repair: bool = False) -> ItemVerdict:
    with desk.doing(world.technician) as deed:
        return record_item(deed, world.visit_id, world.item_ids[0], entries, after_repair=after_repair)


def name_competent(desk: Desk, world: World, person: Person | None) -> None:
    with desk.doing(world.owner) as deed:
        details = get_firm(deed.session).details
        firms.change_firm(deed, replace(details, dielectric_by_id=person.id if person else None))


def test_an_own_sequence_passes_without_what_it_leaves_out_and_says_so(desk: Desk, world: World) -> None:
    begin(desk, world, SHORT)
    assert record(desk, world, LOOKED_AT, INSULATED).missing == (Check.FUNCTIONAL,), "its own checks are all required"
    assert record(desk, world, LOOKED_AT, INSULATED, WORKS).verdict is Verdict.PASS
    with desk.reading_only() as session:
        row = get_visit_item(session, world.visit_id, world.item_ids[0])
        assert (row.own_checks, [each.text for each in row.told_advice]) == (SHORT, [GAP])


def test_what_was_recorded_keeps_the_sequence_it_was_worked_by(desk: Desk, world: World) -> None:
    begin(desk, world, SHORT)
    record(desk, world, LOOKED_AT, INSULATED, WORKS)
    with desk.doing(world.owner) as deed:
        details = get_item(deed.session, world.item_ids[0]).details
        items.change_item(deed, world.item_ids[0], replace(details, own_checks=None))
    with desk.reading_only() as session:
        paper = facts_for_certificate(
            session, world.visit_id, number="C-000001", code="A", address="https://a.example", by=world.owner,
            now=desk.now, today=desk.today,
        )  # fmt: skip
    assert paper.rows[0].own_gap == GAP
    assert paper.rows[1].own_gap == ""
    assert paper.deviations == (f"Item 0001: {GAP[0].lower()}{GAP[1:]}",)


def test_after_a_repair_the_whole_sequence_and_the_function_are_needed(desk: Desk, world: World) -> None:
    begin(desk, world, SHORT)
    verdict = record(desk, world, LOOKED_AT, earth("0.1"), INSULATED, after_repair=True)
    assert verdict.missing == (Check.FUNCTIONAL,)
    verdict = record(desk, world, LOOKED_AT, earth("0.1"), INSULATED, WORKS, after_repair=True)
    assert (verdict.verdict, verdict.advice) == (Verdict.PASS, ())
    with desk.reading_only() as session:
        assert get_visit_item(session, world.visit_id, world.item_ids[0]).after_repair


def test_dielectric_strength_is_refused_unless_the_firm_named_somebody_and_the_item_was_repaired(
    desk: Desk, world: World
) -> None:
    name_competent(desk, world, world.owner)
    begin(desk, world)
    with pytest.raises(Mistakes) as wrong:
        record(desk, world, LOOKED_AT, earth("0.1"), INSULATED, WITHSTOOD)
    assert list(wrong.value.messages) == ["dielectric-strength"]
    record(desk, world, LOOKED_AT, earth("0.1"), INSULATED, WORKS, WITHSTOOD, after_repair=True)
    # Off again for visits to come: this one keeps what it began with.
    name_competent(desk, world, None)
    with desk.reading_only() as session:
        row = get_visit_item(session, world.visit_id, world.item_ids[0])
        notes = {reading.check: reading.note for reading in row.readings}
        paper = facts_for_certificate(
            session, world.visit_id, number="C-000001", code="A", address="https://a.example", by=world.owner,
            now=desk.now, today=desk.today,
        )  # fmt: skip
    assert notes["dielectric-strength"] == "Competent person: Ines Tarn."
    assert paper.rows[0].remarks == ("Tested after a repair.", "Dielectric strength: Competent person: Ines Tarn.")
    with desk.doing(world.office) as deed:
        visits.start_visit(deed, world.other_visit_id)
        assert get_visit(deed.session, world.other_visit_id).dielectric_by == ""


def test_a_person_who_has_left_is_not_named(desk: Desk, world: World) -> None:
    with desk.doing(world.owner) as deed:
        left = PersonDetails("Joss Alder", "joss@tarn-alder.example", Role.TECHNICIAN, "JA", active=False)
        change_person(deed, world.technician.id, left)
    with pytest.raises(Mistakes) as wrong:
        name_competent(desk, world, world.technician)
    assert list(wrong.value.messages) == ["dielectric_by_id"]


def test_the_test_lead_is_subtracted_and_kept_with_the_reading(desk: Desk, world: World) -> None:
    begin(desk, world)
    lead = Reading(Decimal(50), Unit.MILLIOHM)
    # 0.18 − 0.05 = 0.13 Ω, at most 0.139 Ω.
    assert record(desk, world, LOOKED_AT, earth("0.18", lead=lead), INSULATED).verdict is Verdict.PASS
    with desk.reading_only() as session:
        row = get_visit_item(session, world.visit_id, world.item_ids[0]).readings[1]
        assert (row.value, row.lead_ohms, row.net) == (Decimal("0.18"), Decimal("0.050"), Decimal("0.130"))
        assert row.margin == Decimal("0.009")


def test_a_reading_that_jumped_fails_however_small(desk: Desk, world: World) -> None:
    begin(desk, world)
    assert record(desk, world, LOOKED_AT, earth("0.05", steady=False)).verdict is Verdict.FAIL
    with desk.reading_only() as session:
        assert not get_visit_item(session, world.visit_id, world.item_ids[0]).readings[1].steady


def test_the_method_is_kept_until_the_visit_is_over(desk: Desk, world: World) -> None:
    method = Method(Decimal("0.05"), True, Decimal(25))
    with desk.doing(world.technician) as deed:
        visits.change_method(deed, world.visit_id, method)
        with pytest.raises(Mistakes):
            visits.change_method(deed, world.visit_id, replace(method, lead_ohms=Decimal("5.01")))
    with desk.reading_only() as session:
        visit = get_visit(session, world.visit_id)
        assert (visit.lead_ohms, visit.both_ways, visit.conductor_c) == (Decimal("0.05"), True, Decimal(25))
    with desk.doing(world.office) as deed:
        visits.cancel_visit(deed, world.visit_id, "Nobody there")
    with desk.doing(world.office) as deed, pytest.raises(Refused):
        visits.change_method(deed, world.visit_id, method)
