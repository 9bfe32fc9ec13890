"""Putting an item right on the spot: both sets of readings stand, the facts change, and the invoice has its line."""

from decimal import Decimal

import pytest
from sqlalchemy import select

from app.actions import visits
from app.actions.certificates import issue_certificate
from app.actions.deeds import Desk
from app.actions.invoices import draft_invoice
from app.actions.readings import leave_item, record_item
from app.actions.remedies import put_right, take_back_remedy
from app.rules.checks import Check
from app.rules.doubts import Doubt
from app.rules.entries import Entry
from app.rules.items import ItemState
from app.rules.quantities import Bound, Reading, Unit
from app.rules.remedies import Change, PutRight
from app.rules.verdicts import Mistakes, Outcome, Refused, Verdict
from app.rules.visits import NotTested
from app.store.certificates import get_certificate
from app.store.doubts import InstrumentDoubt, list_doubtful_records
from app.store.instruments import get_instrument
from app.store.items import get_item, list_open_defects
from app.store.journal import list_journal
from app.store.readings import ReadingRow, count_progress, get_visit_item
from tests.cast import World
from tests.finished_visits import GOOD

WRONG_FUSE = [Entry(Check.VISUAL, outcome=Outcome.FAIL, point="plug-fuse", note="13 A, too large for the cord")]
THREE_AMPS = PutRight(Change.FUSE, fuse_a=Decimal(3))


@pytest.fixture
def begun(desk: Desk, world: World) -> World:
    """The visit under way, and the drill, the second item, failed for its fuse."""
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        get_item(deed.session, world.item_ids[1]).fuse_a = Decimal(13)
        record_item(deed, world.visit_id, world.item_ids[1], WRONG_FUSE)
    return world


def mend(desk: Desk, world: World, done: PutRight = THREE_AMPS, version: int | None = None) -> None:
    with desk.doing(world.technician) as deed:
        put_right(deed, world.visit_id, world.item_ids[1], done, version)


def retest(desk: Desk, world: World, entries: list[Entry] | None = None, **more: bool) -> Verdict:
    with desk.doing(world.technician) as deed:
        found = record_item(deed, world.visit_id, world.item_ids[1], GOOD[1] if entries is None else entries, **more)  # type: ignore[arg-type]
    return found.verdict


def test_what_was_found_is_kept_and_the_item_waits_for_its_second_test(desk: Desk, begun: World) -> None:
    mend(desk, begun)
    with desk.reading_only() as session:
        row = get_visit_item(session, begun.visit_id, begun.item_ids[1])
        assert (row.verdict, row.readings, row.defects, row.done) == (None, [], [], False)
        (earlier,) = row.rounds
        assert (earlier.verdict, earlier.put_right, earlier.put_right_by.name) == (
            "fail",
            "fuse changed to 3 A",
            "Joss Alder",
        )
        assert [reading.outcome for reading in earlier.readings] == ["fail"]
        assert [defect.found for defect in earlier.defects] == ["13 A, too large for the cord"]
        assert count_progress(session, begun.visit_id).left == 3
        item = get_item(session, begun.item_ids[1])
        assert (item.fuse_a, item.state) == (Decimal(3), ItemState.OUT_OF_USE)
        said = [line.sentence for line in list_journal(session, "item", item.id)]
        assert "Put item 0002 right on the spot: fuse changed to 3 A. On the register: fuse in A: 13, now 3." in said


def test_a_pass_after_it_closes_the_defect_and_puts_the_item_back_in_use(desk: Desk, begun: World) -> None:
    mend(desk, begun)
    assert retest(desk, begun) == Verdict.PASS
    with desk.reading_only() as session:
        row = get_visit_item(session, begun.visit_id, begun.item_ids[1])
        assert (row.verdict, row.after_repair, len(row.readings)) == ("pass", False, 2)
        assert [reading.outcome for reading in row.rounds[0].readings] == ["fail"]
        assert row.facts.fuse_a == Decimal(3)
        assert row.rounds[0].facts.fuse_a == Decimal(13)
        assert list_open_defects(session, row.item_id) == []
        assert row.rounds[0].defects[0].closed_on == desk.today
        assert get_item(session, row.item_id).state == ItemState.IN_USE


def test_a_correction_of_the_second_set_leaves_the_first_alone(desk: Desk, begun: World) -> None:
    mend(desk, begun)
    retest(desk, begun)
    low = Entry(Check.INSULATION_RESISTANCE, Reading(Decimal("0.3"), Unit.MEGOHM, Bound.EXACT))
    assert retest(desk, begun, [GOOD[1][0], low]) == Verdict.FAIL
    with desk.reading_only() as session:
        row = get_visit_item(session, begun.visit_id, begun.item_ids[1])
        assert len(row.defects) == 1
        assert [defect.found for defect in row.rounds[0].defects] == ["13 A, too large for the cord"]
        assert len(list_open_defects(session, row.item_id)) == 2


def test_it_is_judged_as_after_a_repair_only_where_somebody_says_so(desk: Desk, begun: World) -> None:
    mend(desk, begun)
    retest(desk, begun, after_repair=True)
    with desk.reading_only() as session:
        assert get_visit_item(session, begun.visit_id, begun.item_ids[1]).after_repair is True


def test_it_can_be_put_right_twice(desk: Desk, begun: World) -> None:
    mend(desk, begun)
    assert retest(desk, begun, WRONG_FUSE) == Verdict.FAIL
    mend(desk, begun, PutRight(Change.PLUG, fuse_a=Decimal(3)))
    assert retest(desk, begun) == Verdict.PASS
    with desk.reading_only() as session:
        row = get_visit_item(session, begun.visit_id, begun.item_ids[1])
        assert [earlier.put_right for earlier in row.rounds] == [
            "fuse changed to 3 A",
            "plug changed with a 3 A fuse",
        ]
        assert row.item.cord_moulded_plug is False


def test_a_new_cord_changes_what_the_limit_rests_on(desk: Desk, begun: World) -> None:
    mend(desk, begun, PutRight(Change.CORD, csa_mm2=Decimal("1.0"), length_m=Decimal(2)))
    with desk.reading_only() as session:
        facts = get_item(session, begun.item_ids[1]).facts
        assert facts.cord is not None
        assert (facts.cord.csa_mm2, facts.cord.length_m) == (Decimal("1.0"), Decimal(2))


@pytest.mark.parametrize(
    ("done", "field"),
    [
        (PutRight(Change.FUSE), "new_fuse_a"),
        (PutRight(Change.FUSE, fuse_a=Decimal(20)), "new_fuse_a"),
        (PutRight(Change.CORD, csa_mm2=Decimal("0.75")), "new_length_m"),
        (PutRight(Change.CORD, length_m=Decimal(2)), "new_csa_mm2"),
        (PutRight(Change.OTHER), "put_right_words"),
    ],
)
def test_what_is_missing_is_said_and_nothing_is_changed(desk: Desk, begun: World, done: PutRight, field: str) -> None:
    with pytest.raises(Mistakes) as wrong:
        mend(desk, begun, done)
    assert set(wrong.value.messages) == {field}
    with desk.reading_only() as session:
        row = get_visit_item(session, begun.visit_id, begun.item_ids[1])
        assert (row.verdict, row.rounds, row.item.fuse_a) == ("fail", [], Decimal(13))


def test_only_what_has_failed_is_put_right(desk: Desk, begun: World) -> None:
    with pytest.raises(Refused, match="has failed"), desk.doing(begun.technician) as deed:
        put_right(deed, begun.visit_id, begun.item_ids[0], THREE_AMPS)


def test_a_stale_form_puts_nothing_right(desk: Desk, begun: World) -> None:
    with desk.reading_only() as session:
        version = get_visit_item(session, begun.visit_id, begun.item_ids[1]).version
    retest(desk, begun, WRONG_FUSE)
    with pytest.raises(Refused, match="Somebody else"):
        mend(desk, begun, version=version)


def test_a_failure_is_not_left_out_after_it_was_put_right(desk: Desk, begun: World) -> None:
    mend(desk, begun)
    with pytest.raises(Refused, match="Test it again"), desk.doing(begun.technician) as deed:
        leave_item(deed, begun.visit_id, begun.item_ids[1], NotTested.REMOVED)
    with pytest.raises(Refused, match="still open"), desk.doing(begun.technician) as deed:
        visits.finish_visit(deed, begun.visit_id)


def test_it_is_taken_back_before_the_second_test_and_not_after(desk: Desk, begun: World) -> None:
    mend(desk, begun)
    with desk.doing(begun.technician) as deed:
        take_back_remedy(deed, begun.visit_id, begun.item_ids[1])
    with desk.reading_only() as session:
        row = get_visit_item(session, begun.visit_id, begun.item_ids[1])
        assert (row.verdict, len(row.readings), len(row.defects), row.rounds) == ("fail", 1, 1, [])
        assert (row.item.fuse_a, row.readings[0].position) == (Decimal(13), 0)
    mend(desk, begun)
    retest(desk, begun)
    with pytest.raises(Refused, match="tested again"), desk.doing(begun.technician) as deed:
        take_back_remedy(deed, begun.visit_id, begun.item_ids[1])


def test_an_instrument_in_doubt_is_found_by_the_first_set_too(desk: Desk, begun: World) -> None:
    low = Entry(Check.INSULATION_RESISTANCE, Reading(Decimal("0.3"), Unit.MEGOHM, Bound.EXACT))
    retest(desk, begun, [GOOD[1][0], low])
    mend(desk, begun, PutRight(Change.OTHER, words="dried out"))
    with desk.reading_only() as session:
        rows = session.scalars(select(ReadingRow).where(ReadingRow.instrument_id.is_not(None))).all()
        assert [row.round_id is not None for row in rows] == [True]
    retest(desk, begun, [GOOD[1][0]])
    with desk.reading_only() as session:
        doubt = Doubt(None, desk.today, desk.today)
        kept = InstrumentDoubt(get_instrument(session, begun.instrument_id), doubt)
        found = list_doubtful_records(session, kept, Check.INSULATION_RESISTANCE)
        assert [(each.visit_id, each.found_first, each.tested_on) for each in found] == [
            (begun.visit_id, True, desk.today)
        ], "what was measured before it was put right is in doubt too"


def test_both_sets_stand_on_the_certificate_and_the_deed_on_the_invoice(desk: Desk, begun: World) -> None:
    mend(desk, begun)
    retest(desk, begun)
    with desk.doing(begun.technician) as deed:
        for item_id in (begun.item_ids[0], begun.item_ids[2]):
            leave_item(deed, begun.visit_id, item_id, NotTested.NOT_PRESENTED, "locked away")
        visits.finish_visit(deed, begun.visit_id)
    certificate_id = issue_certificate(desk, begun.owner, begun.visit_id)
    with desk.reading_only() as session:
        data = get_certificate(session, certificate_id).data
    (told,) = data["put_right"]
    assert told["found"] == ["13 A, too large for the cord."]
    assert (told["done"], told["verdict"]) == (["Fuse changed to 3 A."], "pass")
    assert data["failed"] == []
    row = next(row for row in data["schedule"]["rows"] if row["number"] == "0002")
    assert row["notes"][0] == (
        "Found: fail (visual, fuse fail). Put right on the spot: fuse changed to 3 A. Tested again: pass."
    )
    assert [reading["outcome"] for reading in row["found_first"][0]["readings"]] == ["fail"]
    assert {reading["outcome"] for reading in row["readings"]} == {"pass"}
    with desk.doing(begun.office) as deed:
        line = next(line for line in draft_invoice(deed, begun.visit_id).lines if "Fuse" in line.description)
        assert (line.description, line.item_numbers) == ("Fuse changed", ["0002"])
        assert (line.quantity, line.price) == (Decimal(1), Decimal(0))
