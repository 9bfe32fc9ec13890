"""Price agreements: which one holds on a day for a customer, and taking back a mistaken one."""

from datetime import date, timedelta

import pytest

from app.actions import prices
from app.actions.deeds import Desk
from app.rules.equipment import Kind
from app.rules.verdicts import Mistakes
from app.store.database import Missing
from app.store.journal import list_journal
from app.store.prices import find_price_agreement, list_price_agreements
from tests.cast import World


def holds(desk: Desk, customer_id: int, day: date) -> int | None:
    with desk.reading_only() as session:
        row = find_price_agreement(session, customer_id, day)
        return row.item_pence if row else None


def test_the_newest_agreement_of_the_customer_holds_then_the_firms_list(desk: Desk, world: World) -> None:
    today = desk.today
    with desk.doing(world.owner) as deed:
        prices.agree_prices(deed, world.customer_id, today, 110)
        prices.agree_prices(deed, world.customer_id, today + timedelta(days=10), 120)
        prices.agree_prices(deed, None, today + timedelta(days=5), 140)
        prices.agree_prices(deed, None, today + timedelta(days=5), 141)  # put right on the same day
    assert holds(desk, world.customer_id, today) == 110
    assert holds(desk, world.customer_id, today + timedelta(days=9)) == 110
    assert holds(desk, world.customer_id, today + timedelta(days=10)) == 120
    assert holds(desk, world.customer_id, today - timedelta(days=1)) == 135
    assert holds(desk, world.other_customer_id, today + timedelta(days=4)) == 135
    assert holds(desk, world.other_customer_id, today + timedelta(days=5)) == 141
    assert holds(desk, world.other_customer_id, today - timedelta(days=9999)) is None


def test_prices_taken_back_hold_no_longer(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        row = prices.agree_prices(deed, world.customer_id, deed.today, 110, kinds={Kind.CHARGER: 50, Kind.APPLIANCE: 0})
        assert [(price.kind, price.pence) for price in row.kinds] == [("charger", 50), ("appliance", 0)]
        agreement_id = row.id
    for other in (None, world.other_customer_id):
        with pytest.raises(Missing), desk.doing(world.owner) as deed:
            prices.drop_prices(deed, agreement_id, other)
    with desk.doing(world.office) as deed:
        prices.drop_prices(deed, agreement_id, world.customer_id)
    assert holds(desk, world.customer_id, desk.today) == 135
    with desk.reading_only() as session:
        assert list_price_agreements(session, world.customer_id) == []
        said = [line.sentence for line in list_journal(session, "customer", world.customer_id)]
    assert said[0].startswith("Took back the prices from 4 March 2026")


@pytest.mark.parametrize("pence", [-1, 10_000_001])
def test_an_absurd_amount_is_named(desk: Desk, world: World, pence: int) -> None:
    with pytest.raises(Mistakes) as wrong, desk.doing(world.owner) as deed:
        prices.agree_prices(deed, None, deed.today, 100, call_out_pence=pence, kinds={Kind.CHARGER: pence})
    assert set(wrong.value.messages) == {"call_out", "kind_charger"}
