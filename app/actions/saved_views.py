"""Saving the choices of a list under a name, for oneself or for everybody, and dropping them."""

from urllib.parse import parse_qsl, urlencode

from app.actions.deeds import Deed
from app.rules.people import Role
from app.rules.saved_views import check_saved_view, list_choices
from app.rules.verdicts import Mistakes, Refused
from app.store.saved_views import SavedViewRow, get_saved_view, list_saved_views


def tidy_query(query: str) -> str:
    """The choices that stand behind an address, as they are kept."""
    try:
        pairs = parse_qsl(query, max_num_fields=50)
    except ValueError:  # far more than any list asks
        return ""
    return urlencode(list_choices(pairs))


def save_view(deed: Deed, name: str, path: str, query: str, shared: bool) -> SavedViewRow:
    """Save a view; one of the same name of the same person is replaced. Raises Mistakes."""
    query = tidy_query(query)
    if mistakes := check_saved_view(name, path, query):
        raise Mistakes(mistakes)
    own = [row for row in list_saved_views(deed.session, deed.doer.id, path) if row.person_id == deed.doer.id]
    row = next((each for each in own if each.name.casefold() == name.strip().casefold()), None)
    if row is None:
        row = SavedViewRow(person_id=deed.doer.id, path=path, name="", query="", made_at=deed.now)
        deed.session.add(row)
    row.name, row.query, row.shared = name.strip(), query, shared
    deed.session.flush()
    if shared:
        deed.note("firm", 1, f"Shared the view {row.name} of {path}.")
    return row


def drop_view(deed: Deed, saved_view_id: int) -> str:
    """Drop a view, one's own or, for the owner, any that is shared; gives the address of its list."""
    row = get_saved_view(deed.session, saved_view_id)
    if row.person_id != deed.doer.id and not (row.shared and deed.doer.role == Role.OWNER):
        raise Refused("This view is somebody else’s.")
    deed.session.delete(row)
    if row.shared:
        deed.note("firm", 1, f"Dropped the shared view {row.name} of {row.path}.")
    return row.path
