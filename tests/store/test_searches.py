"""The search index follows every write, finds by the beginnings of words, and finds alike on both databases."""

from dataclasses import replace

import pytest
from sqlalchemy import text

from app.actions import customers, instruments, items
from app.actions.deeds import Desk
from app.actions.searches import fill_search_index
from app.rules.customers import ContactDetails
from app.rules.items import ItemDetails
from app.rules.searches import Subject, parse_search
from app.store.customers import get_customer
from app.store.instruments import get_instrument
from app.store.items import get_item
from app.store.searches import count_entries, list_beginning_with, list_exact, list_named
from tests.cast import KETTLE, World


def found(desk: Desk, typed: str, subject: Subject = Subject.ITEM) -> list[int]:
    with desk.reading_only() as session:
        return list_beginning_with(session, parse_search(typed), subject, 10)


def add(desk: Desk, world: World, description: str, **more: str) -> int:
    with desk.doing(world.technician) as deed:
        return items.add_item(deed, ItemDetails("", description, world.location_id, facts=KETTLE, **more)).id  # type: ignore[arg-type]


def test_an_item_is_found_by_number_serial_make_model_and_what_it_is(desk: Desk, world: World) -> None:
    item = add(desk, world, "Café urn", make="Hobbin", model="U-20", serial="SN/881-X")
    with desk.reading_only() as session:
        number = get_item(session, item).number
    for typed in ("cafe", "URN hob", "u20", "sn881", "881 x", number, number.lstrip("0") + " caf"):
        assert item in found(desk, typed), typed
    for typed in ("afe", "urn larkfell", "", "  ", "“—”"):
        assert item not in found(desk, typed), typed


def test_a_change_is_found_and_the_old_words_no_longer(desk: Desk, world: World) -> None:
    item = add(desk, world, "Samovar")
    with desk.doing(world.technician) as deed:
        items.change_item(deed, item, replace(get_item(deed.session, item).details, description="Percolator"))
    assert found(desk, "perco") == [item]
    assert found(desk, "samovar") == []


def test_what_was_undone_is_not_found(desk: Desk, world: World) -> None:
    with pytest.raises(ZeroDivisionError), desk.doing(world.technician) as deed:
        items.add_item(deed, ItemDetails("", "Theremin", world.location_id, facts=KETTLE))
        deed.session.flush()
        raise ZeroDivisionError
    assert found(desk, "theremin") == []


def test_a_customer_is_found_by_a_contact_and_not_after_the_contact_left(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        contact = customers.add_contact(deed, world.customer_id, ContactDetails("Orla Quill", email="orla@example.com"))
    assert found(desk, "quill", Subject.CUSTOMER) == [world.customer_id]
    with desk.doing(world.office) as deed:
        customers.remove_contact(deed, contact.id)
    assert found(desk, "quill", Subject.CUSTOMER) == []
    with desk.reading_only() as session:
        assert list_named(session, Subject.CUSTOMER, [world.customer_id]) == [get_customer(session, world.customer_id)]


def test_an_exact_number_is_told_from_one_that_begins_alike(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        details = get_instrument(deed.session, world.instrument_id).details
        instruments.change_instrument(deed, world.instrument_id, replace(details, serial="Q-7"))
    with desk.reading_only() as session:
        assert list_exact(session, "q7", Subject, 5) == [(Subject.INSTRUMENT, world.instrument_id)]
        assert list_exact(session, "q", Subject, 5) == list_exact(session, "", Subject, 5) == []


def test_signs_of_the_query_languages_are_only_signs(desk: Desk, world: World) -> None:
    for typed in ('"', "a*", "x OR y", "a & !b", "'; DROP TABLE items", "NEAR(a b)", "a:b", "\\", "%", "日本"):
        assert found(desk, typed) == found(desk, typed.casefold())


def test_an_older_database_is_filled_when_the_app_starts(desk: Desk, world: World) -> None:
    item = add(desk, world, "Zither")
    with desk.reading_only() as session:
        before = count_entries(session)
    with desk.database.writing() as session:
        session.execute(text("DELETE FROM search_entries"))
    assert found(desk, "zither") == []
    fill_search_index(desk)
    assert found(desk, "zither") == [item]
    with desk.reading_only() as session:
        assert count_entries(session) == before
