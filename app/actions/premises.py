"""Adding and changing premises and their locations."""

from app.actions.deeds import Deed, check_version, columns_of, fill
from app.rules.customers import PremisesDetails, check_premises
from app.rules.verdicts import Mistakes, Refused
from app.store.customers import get_customer
from app.store.items import list_items_at
from app.store.premises import LocationRow, PremisesRow, get_location, get_premises


def add_premises(deed: Deed, customer_id: int, details: PremisesDetails) -> PremisesRow:
    """Add premises of a customer. Raises Mistakes."""
    customer = get_customer(deed.session, customer_id)
    if mistakes := check_premises(details):
        raise Mistakes(mistakes)
    row = PremisesRow(customer_id=customer.id, **columns_of(details))
    deed.session.add(row)
    deed.session.flush()
    deed.note("premises", row.id, f"Added {row.name} of {customer.name}.")
    return row


def change_premises(deed: Deed, premises_id: int, details: PremisesDetails, version: int | None = None) -> PremisesRow:
    """Change the details of premises. Raises Mistakes."""
    row = get_premises(deed.session, premises_id)
    check_version(row, version, "these premises")
    if mistakes := check_premises(details):
        raise Mistakes(mistakes)
    fill(row, details)
    deed.note("premises", row.id, f"Changed the details of {row.name}.")
    return row


def add_location(deed: Deed, premises_id: int, name: str) -> LocationRow:
    """Add a location, last in order. Raises Mistakes for an empty or repeated name."""
    premises = get_premises(deed.session, premises_id)
    name = _free_name(premises, name, None)
    row = LocationRow(premises_id=premises.id, name=name, position=len(premises.locations))
    deed.session.add(row)
    deed.session.flush()
    deed.session.expire(premises, ["locations"])
    deed.note("premises", premises.id, f"Added the location {name}.")
    return row


def change_location(deed: Deed, location_id: int, name: str) -> LocationRow:
    """Rename a location. Raises Mistakes for an empty or repeated name."""
    row = get_location(deed.session, location_id)
    old, row.name = row.name, _free_name(row.premises, name, row)
    deed.note("premises", row.premises_id, f"Renamed the location {old} to {row.name}.")
    return row


def remove_location(deed: Deed, location_id: int) -> int:
    """Remove an empty location; gives the id of its premises."""
    row = get_location(deed.session, location_id)
    if list_items_at(deed.session, row.id):
        raise Refused(
            f"There are or were items at {row.name}. Rename it instead, so that their records keep their place."
        )
    deed.session.delete(row)
    deed.note("premises", row.premises_id, f"Removed the location {row.name}.")
    return row.premises_id


def _free_name(premises: PremisesRow, name: str, row: LocationRow | None) -> str:
    name = " ".join(name.split())
    if not name:
        raise Mistakes({"name": "Give the location a name."})
    if any(other.name.casefold() == name.casefold() for other in premises.locations if other is not row):
        raise Mistakes({"name": f"{premises.name} has a location of this name already."})
    return name
