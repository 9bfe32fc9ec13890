"""Filling the search index of a database that comes from before there was one."""

from app.actions.deeds import Desk
from app.store.customers import list_customers
from app.store.searches import change_whole_index, count_entries


def fill_search_index(desk: Desk) -> None:
    """Make the index from what is there, where it is empty and something is there."""
    with desk.reading_only() as session:
        needed = count_entries(session) == 0 and bool(list_customers(session))
    if needed:
        with desk.doing(None) as deed:
            change_whole_index(deed.session)
