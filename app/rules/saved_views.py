"""Saved views: which lists have them, and what may be saved. The choices stand in the address; that is kept."""

import re
from collections.abc import Iterable

NAME_MOST, QUERY_MOST = 60, 800
LISTS = {
    "/customers": "Customers",
    "/visits": "Visits",
    "/invoices": "Invoices",
    "/certificates": "Certificates",
    "/defects": "Open defects",
    "/due": "Due for testing",
    "/evidence": "Evidence",
}
_REGISTER = re.compile(r"/premises/[1-9][0-9]{0,8}")
#: Where in the list somebody is, which is no part of a view.
_PLACE = ("from", "after", "before", "page")


def describe_list(path: str) -> str:
    """Say which list an address is of, or nothing where it has no views."""
    return "Register" if _REGISTER.fullmatch(path) else LISTS.get(path, "")


def list_choices(pairs: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """List the choices among the pairs of an address, without the empty ones and without the place in the list."""
    return [(name, value) for name, value in pairs if value and name not in _PLACE]


def check_saved_view(name: str, path: str, query: str) -> dict[str, str]:
    """What is wrong, by field name."""
    mistakes = {}
    if not name.strip():
        mistakes["name"] = "Give the view a name."
    elif len(name) > NAME_MOST:
        mistakes["name"] = f"Use at most {NAME_MOST} characters; there are {len(name)}."
    if not describe_list(path):
        mistakes["path"] = "This list has no views."
    if not query or len(query) > QUERY_MOST:
        mistakes["query"] = "Choose something in the list first; that is what a view keeps."
    return mistakes
