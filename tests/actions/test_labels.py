"""Labels through the actions, on both databases: kept sheets, what stands on a label, numbers printed ahead."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from app.actions import items, labels, readings, visits
from app.actions.deeds import Desk
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.items import ItemDetails
from app.rules.label_sheets import Codes, Feed, LabelSheetDetails
from app.rules.labels import LabelFacts, Standing, describe_label_address
from app.rules.quantities import Unit, parse_reading
from app.rules.verdicts import Mistakes, Outcome, Refused
from app.store.items import find_item_by_number
from app.store.journal import list_journal
from app.store.label_facts import facts_for_labels
from app.store.label_sheets import get_label_sheet, list_label_sheets
from tests.cast import DRILL, Clock, World
from tests.documents.label_reading import codes_of
from tests.documents.reading_back import text_of

SHEET = LabelSheetDetails(
    "24", Feed.SHEET, Decimal("63.5"), Decimal("33.9"), 3, 8, Decimal("7.2"), Decimal("12.9"), Decimal("2.6")
)
KETTLE_READINGS = [
    Entry(Check.VISUAL, outcome=Outcome.PASS),
    Entry(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, parse_reading("0.09", Unit.OHM)),
    Entry(Check.INSULATION_RESISTANCE, parse_reading("200", Unit.MEGOHM)),
    Entry(Check.FUNCTIONAL, outcome=Outcome.PASS),
]


def kept(desk: Desk, world: World, sheet: LabelSheetDetails = SHEET) -> int:
    with desk.doing(world.office) as deed:
        return labels.add_label_sheet(deed, sheet, desk.public_address).id


def work(desk: Desk, world: World) -> None:
    """The kettle passes, the drill fails, the lead stays open."""
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        readings.record_item(deed, world.visit_id, world.item_ids[0], KETTLE_READINGS)
        broken = [Entry(Check.VISUAL, outcome=Outcome.FAIL, note="The plug is cracked")]
        readings.record_item(deed, world.visit_id, world.item_ids[1], broken)


def test_a_description_comes_back_as_it_was_kept(desk: Desk, world: World) -> None:
    told = replace(SHEET, shift_right_mm=Decimal("-0.4"), codes=Codes.BOTH, shows_next=True, shows_firm=False)
    sheet_id = kept(desk, world, told)
    with desk.reading_only() as session:
        assert get_label_sheet(session, sheet_id).details == told
        assert list_journal(session, "label sheet", sheet_id)[0].sentence == "Described the labels 24."


def test_what_is_wrong_with_a_description_is_said_and_nothing_is_kept(desk: Desk, world: World) -> None:
    kept(desk, world)
    for wrong, field in (
        (SHEET, "name"),
        (replace(SHEET, name="Other", columns=9), "columns"),
        (replace(SHEET, name="Tiny", feed=Feed.ROLL, width_mm=Decimal(15), height_mm=Decimal(8)), "height_mm"),
    ):
        with pytest.raises(Mistakes) as raised:
            kept(desk, world, wrong)
        assert set(raised.value.messages) == {field}
    with desk.reading_only() as session:
        assert [row.name for row in list_label_sheets(session)] == ["24"]


def test_nobody_overwrites_a_description_unseen(desk: Desk, world: World) -> None:
    sheet_id = kept(desk, world)
    with desk.doing(world.owner) as deed:
        labels.change_label_sheet(deed, sheet_id, replace(SHEET, name="First"), desk.public_address, 1)
    with pytest.raises(Refused, match="Somebody else has changed"), desk.doing(world.office) as deed:
        labels.change_label_sheet(deed, sheet_id, replace(SHEET, name="Second"), desk.public_address, 1)
    with desk.doing(world.office) as deed:
        labels.discard_label_sheet(deed, sheet_id)
        assert list_label_sheets(deed.session) == []


def test_a_label_says_what_the_records_say(desk: Desk, world: World) -> None:
    work(desk, world)
    with desk.reading_only() as session:
        passed, failed, untouched = facts_for_labels(session, world.item_ids, desk.public_address)
    assert passed == LabelFacts(
        "0001",
        describe_label_address(desk.public_address, world.customer_id, "0001"),
        "Kettle",
        Standing.PASS,
        False,
        desk.today,
        "JA",
        passed.next_due_on,
    )
    assert passed.next_due_on is not None and passed.next_due_on > desk.today
    assert (failed.standing, failed.failed, failed.initials) == (Standing.DO_NOT_USE, True, "JA")
    assert failed.next_due_on is None
    assert (untouched.standing, untouched.tested_on, untouched.initials) == (Standing.NUMBER_ONLY, None, "")


def test_what_is_out_of_use_is_not_to_be_used_and_what_is_withdrawn_gets_no_label(desk: Desk, world: World) -> None:
    work(desk, world)
    with desk.doing(world.office) as deed:
        items.take_out_of_use(deed, world.item_ids[0], "Smells of burning")
        items.withdraw_item(deed, world.item_ids[2], "Lost")
    with desk.reading_only() as session:
        found = facts_for_labels(session, world.item_ids, desk.public_address)
    assert [(each.number, each.standing, each.failed) for each in found] == [
        ("0001", Standing.DO_NOT_USE, False),
        ("0002", Standing.DO_NOT_USE, True),
    ]


def test_the_initials_are_those_of_the_last_test(desk: Desk, world: World, clock: Clock) -> None:
    work(desk, world)
    clock.pass_time(days=3)
    with desk.doing(world.owner) as deed:
        readings.record_item(deed, world.visit_id, world.item_ids[0], KETTLE_READINGS)
        found = facts_for_labels(deed.session, world.item_ids[:1], desk.public_address)[0]
    assert found.initials == "IT"
    assert found.tested_on == desk.today == clock.today


def test_labels_are_drawn_with_their_codes(desk: Desk, world: World) -> None:
    work(desk, world)
    sheet_id = kept(desk, world)
    with desk.reading_only() as session:
        pdf = labels.draw_item_labels(desk, session, sheet_id, world.item_ids, start=23)
    codes = codes_of(pdf)
    assert [code.page for code in codes] == [0, 0, 1]
    assert [code.text for code in codes] == [
        f"HTTPS://OFFICE.TARN-ALDER.EXAMPLE/L/{world.customer_id}/{number}" for number in ("0001", "0002", "0003")
    ]
    words = text_of(pdf).replace(" ", "")
    assert words.count("DONOTUSE") == 1 and words.count("Pass") == 1 and "01632960101" in words


def test_what_cannot_be_printed_is_refused_with_the_reason(desk: Desk, world: World) -> None:
    sheet_id = kept(desk, world)
    with desk.reading_only() as session:
        for ids, start, says in (([], 1, "No item was chosen"), (world.item_ids, 25, "labels 1 to 24")):
            with pytest.raises(Refused, match=says):
                labels.draw_item_labels(desk, session, sheet_id, ids, start)


def test_numbers_printed_ahead_are_offered_to_no_other_item(desk: Desk, world: World) -> None:
    with desk.doing(world.technician) as deed:
        run = labels.reserve_numbers(deed, world.customer_id, 20)
        assert (run.first_number, run.last_number) == ("0004", "0023")
        again = labels.reserve_numbers(deed, world.customer_id, 1)
        assert (again.first_number, again.last_number) == ("0024", "0024")
        by_hand = items.add_item(deed, ItemDetails("", "Drill", world.location_id, facts=DRILL))
        assert by_hand.number == "0025"
        scanned = items.add_item(deed, ItemDetails("0007", "Drill", world.location_id, facts=DRILL))
        assert find_item_by_number(deed.session, world.customer_id, "0007") is scanned
        elsewhere = labels.reserve_numbers(deed, world.other_customer_id, 1)
        assert elsewhere.first_number == "0004"
    sheet_id = kept(desk, world)
    with desk.reading_only() as session:
        codes = codes_of(labels.draw_number_labels(desk, session, sheet_id, run.id))
    assert [code.text.rsplit("/")[-1] for code in codes] == [f"{number:04d}" for number in range(4, 24)]


@pytest.mark.parametrize("count", [0, 1001])
def test_so_many_numbers_are_refused(desk: Desk, world: World, count: int) -> None:
    with pytest.raises(Mistakes) as raised, desk.doing(world.office) as deed:
        labels.reserve_numbers(deed, world.customer_id, count)
    assert set(raised.value.messages) == {"count"}


def test_a_test_page_is_drawn(desk: Desk, world: World) -> None:
    sheet_id = kept(desk, world)
    with desk.reading_only() as session:
        words = text_of(labels.draw_label_test_page(session, sheet_id)).replace(" ", "")
    assert "Therulersmustbe100mmlong" in words


def test_the_days_of_a_label_are_days_of_the_records(desk: Desk, world: World) -> None:
    work(desk, world)
    with desk.reading_only() as session:
        passed = facts_for_labels(session, world.item_ids[:1], desk.public_address)[0]
    assert passed.tested_on is not None and passed.next_due_on is not None
    assert passed.next_due_on - passed.tested_on > timedelta(days=80)
