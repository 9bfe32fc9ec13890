"""Repeat agreements on both databases: each visit once, agreed prices kept, changed and ended from a day on."""

from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta
from decimal import Decimal

import pytest
from dateutil.relativedelta import relativedelta

from app.actions import planners, prices, repeat_agreements
from app.actions.deeds import Desk
from app.actions.drafts import draft_invoice
from app.actions.planners import Place
from app.rules.repeats import Repeat, check_repeat, list_repeat_days
from app.rules.verdicts import Mistakes, Refused
from app.store.wanted_visits import get_repeat_agreement, list_wanted_of
from tests.cast import Clock, World
from tests.finished_visits import work_through


def days_of(desk: Desk, agreement_id: int) -> list[tuple[date | None, str]]:
    with desk.reading_only() as session:
        return [(row.wanted_on, row.state) for row in list_wanted_of(session, agreement_id)]


def test_the_days_are_counted_from_the_first_and_agree_with_another_calendar() -> None:
    for every in (1, 3, 6, 12):
        first = date(2026, 1, 31)
        found = list_repeat_days(Repeat(first, every), date(2029, 12, 31))
        assert list(found) == [
            day for number in range(60) if (day := first + relativedelta(months=every * number)) <= date(2029, 12, 31)
        ]
    assert set(check_repeat(Repeat(first, 0, first - timedelta(days=1), minutes=1))) == {
        "every_months", "ends_on", "minutes",
    }  # fmt: skip


def test_visits_are_made_in_advance_and_never_twice(desk: Desk, world: World, clock: Clock) -> None:
    first = desk.today + timedelta(days=10)
    with desk.doing(world.office) as deed:
        row = repeat_agreements.agree_repeat(deed, world.premises_id, Repeat(first, 6, None, world.technician.id, 40))
    assert days_of(desk, row.id) == [(first, "waiting"), (date(2026, 9, 14), "waiting"), (date(2027, 3, 14), "waiting")]
    with ThreadPoolExecutor(4) as pool:
        assert sum(pool.map(lambda _: repeat_agreements.make_wanted_visits(desk), range(4))) == 0
    clock.pass_time(days=200)
    with ThreadPoolExecutor(4) as pool:
        assert sum(pool.map(lambda _: repeat_agreements.make_wanted_visits(desk), range(4))) == 1
    assert len(days_of(desk, row.id)) == 4


def test_a_change_and_an_end_leave_no_visit_twice(desk: Desk, world: World) -> None:
    first = desk.today + timedelta(days=10)
    with desk.doing(world.office) as deed:
        row = repeat_agreements.agree_repeat(deed, world.premises_id, Repeat(first, 3))
        with pytest.raises(Mistakes):
            repeat_agreements.end_repeat(deed, row.id, first, "  ")
        second = date(2026, 6, 14)
        new = repeat_agreements.change_repeat(deed, row.id, Repeat(second, 12))
        with pytest.raises(Refused):  # the form was opened before the change
            repeat_agreements.end_repeat(deed, row.id, first, "Sold", version=1)
    waiting = [day for agreement in (row, new) for day, state in days_of(desk, agreement.id) if state == "waiting"]
    assert waiting == [first, second] and get_ends(desk, row.id) == date(2026, 6, 13)
    with desk.doing(world.office) as deed:
        repeat_agreements.end_repeat(deed, new.id, desk.today, "Sold the mill")
    assert {state for _, state in days_of(desk, new.id)} == {"dropped"}
    assert repeat_agreements.make_wanted_visits(desk) == 0


def get_ends(desk: Desk, agreement_id: int) -> date | None:
    with desk.reading_only() as session:
        return get_repeat_agreement(session, agreement_id).ends_on


def test_a_visit_of_an_agreement_is_charged_at_the_prices_that_were_agreed(
    desk: Desk, world: World, clock: Clock
) -> None:
    with desk.doing(world.owner) as deed:
        prices.agree_prices(deed, world.premises_id and world.customer_id, desk.today, 200)
        row = repeat_agreements.agree_repeat(deed, world.premises_id, Repeat(desk.today, 12))
        [wanted, _] = list_wanted_of(deed.session, row.id)
        prices.agree_prices(deed, world.customer_id, desk.today + timedelta(days=1), 300)
    clock.pass_time(days=1)
    with desk.doing(world.office) as deed:
        place = Place(desk.today, world.technician.id)
        visit_id = planners.book_from_pool(deed, world.premises_id, place, wanted.id).id
    work_through(desk, world.technician, visit_id)
    with desk.doing(world.office) as deed:
        lines = draft_invoice(deed, visit_id).lines
        assert {line.price for line in lines} == {Decimal("2.00")}
