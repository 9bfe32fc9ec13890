"""Reading histories from both databases: lead subtracted, units of the limit, one question for a whole visit."""

from decimal import Decimal

from app.actions.deeds import Desk
from app.rules.certificates import ItemResult
from app.rules.checks import Check
from app.store.paper_facts import facts_for_certificate
from app.store.reading_histories import list_reading_histories, list_visit_histories
from app.store.readings import get_visit_item
from tests.cast import Clock, World
from tests.questions import hearing
from tests.rising_readings import visit_repeatedly

EARTH = Check.PROTECTIVE_CONDUCTOR_RESISTANCE


def test_the_history_of_an_item_is_in_the_unit_of_its_limit(desk: Desk, world: World, clock: Clock) -> None:
    ids = visit_repeatedly(desk, world, clock)
    with desk.doing(world.owner) as deed:
        reading = next(each for each in get_visit_item(deed.session, ids[0], world.item_ids[0]).readings if each.value)
        reading.value, reading.unit, reading.lead_ohms = Decimal("90"), "mohm", Decimal("0.03")
    with desk.reading_only() as session:
        earth, insulation = list_reading_histories(session, [world.item_ids[0]])
    assert (earth.check, earth.unit.symbol, earth.at_most) == (EARTH, "Ω", Decimal("0.139"))
    assert [reading.value for reading in earth.past] == [Decimal(text) for text in ("0.06", "0.08", "0.10", "0.12")]
    assert all(reading.exact for reading in earth.past)
    assert not any(reading.exact for reading in insulation.past), "more than 200 MΩ is no exact reading"


def test_a_whole_visit_takes_one_question(desk: Desk, world: World, clock: Clock) -> None:
    ids = visit_repeatedly(desk, world, clock)
    with desk.reading_only() as session:
        with hearing(desk) as asked:
            found = list_visit_histories(session, ids[-1])
        assert len(asked) == 1
        assert {history.check for history in found} == {EARTH, Check.INSULATION_RESISTANCE}
        first = list_visit_histories(session, ids[0], clock.today.replace(year=clock.today.year - 1))
        assert first == [], "what was tested later is not known at an earlier visit"


def test_a_certificate_has_the_warning_as_a_remark(desk: Desk, world: World, clock: Clock) -> None:
    ids = visit_repeatedly(desk, world, clock)

    def kettle(visit_id: int) -> ItemResult:
        with desk.reading_only() as session:
            facts = facts_for_certificate(
                session, visit_id, number="C-1", code="x", address="https://x.example",
                by=world.owner, now=desk.now, today=desk.today,
            )  # fmt: skip
        return next(row for row in facts.rows if row.description == "Kettle")

    last = kettle(ids[-1])
    assert last.verdict == "pass"
    assert any("moving towards its limit over 4 visits" in remark for remark in last.remarks)
    # A certificate of an earlier visit that is issued late says what was known then.
    assert kettle(ids[2]).remarks == ()
