"""Questions about whole registers, on SQLite and on PostgreSQL."""

from datetime import timedelta

from app.actions import customers, items
from app.actions.deeds import Desk
from app.rules.customers import ContactDetails
from app.rules.items import ItemDetails
from app.store.items import get_item
from app.store.registers import (
    RegisterCounts,
    count_items_at_locations,
    count_items_of_types,
    count_premises_of_customers,
    count_register,
    count_registers,
    count_registers_of_customers,
    list_customers_by_words,
)
from tests.cast import KETTLE, World


def test_counts_by_premises_customer_and_location(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        for item_id, left in zip(world.item_ids, (-1, 30, 31), strict=True):
            row = get_item(deed.session, item_id)
            row.last_tested_on, row.next_due_on = deed.today - timedelta(days=300), deed.today + timedelta(days=left)
        gone, broken, fresh = (
            items.add_item(deed, ItemDetails("", "Kettle", world.location_id, world.equipment_type_id, facts=KETTLE)).id
            for _ in range(3)
        )
        items.withdraw_item(deed, gone, "Scrapped")
        items.take_out_of_use(deed, broken, "Lid broken")
    first_due_on = desk.today - timedelta(days=1)
    expected = RegisterCounts(items=5, out_of_use=1, untested=1, overdue=1, soon=1, first_due_on=first_due_on)
    other = RegisterCounts(items=3, untested=3)
    with desk.reading_only() as session:
        assert get_item(session, fresh).last_tested_on is None
        assert count_register(session, world.premises_id, desk.today) == expected
        assert count_register(session, 999_999, desk.today) == RegisterCounts()
        places = (world.premises_id, world.other_premises_id, 999_999)
        both = {world.premises_id: expected, world.other_premises_id: other}
        assert count_registers(session, places, desk.today) == both
        assert count_registers_of_customers(session, [world.customer_id], desk.today) == {world.customer_id: expected}
        assert count_items_at_locations(session, world.premises_id) == {world.location_id: 5}
        assert count_items_of_types(session) == {world.equipment_type_id: 2}
        assert count_premises_of_customers(session, [world.customer_id]) == {world.customer_id: 1}


def test_customers_are_found_by_what_belongs_to_them(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        customers.add_contact(deed, world.other_customer_id, ContactDetails("Åsa Lomas", email="asa@salt.example"))
    with desk.reading_only() as session:

        def found(search: str) -> list[int]:
            return [row.id for row in list_customers_by_words(session, search)]

        assert found("") == [world.customer_id, world.other_customer_id]
        assert found("lomas") == found("asa@salt") == found("brewery main") == [world.other_customer_id]
        assert found("zz1 1aa") == [world.customer_id, world.other_customer_id]
        assert found("brackenhow lomas") == found("_") == found("%") == []
