"""Taking on customers and their contacts."""

from app.actions.deeds import Deed, check_version, columns_of, fill
from app.rules.customers import ContactDetails, CustomerDetails, check_contact, check_customer
from app.rules.verdicts import Mistakes
from app.store.customers import ContactRow, CustomerRow, get_contact, get_customer


def add_customer(deed: Deed, details: CustomerDetails) -> CustomerRow:
    """Take on a customer. Raises Mistakes."""
    if mistakes := check_customer(details):
        raise Mistakes(mistakes)
    row = CustomerRow(**columns_of(details))
    deed.session.add(row)
    deed.session.flush()
    deed.note("customer", row.id, f"Added the customer {row.name}.")
    return row


def change_customer(deed: Deed, customer_id: int, details: CustomerDetails, version: int | None = None) -> CustomerRow:
    """Change a customer's details. Raises Mistakes."""
    row = get_customer(deed.session, customer_id)
    check_version(row, version, "this customer")
    if mistakes := check_customer(details):
        raise Mistakes(mistakes)
    fill(row, details)
    deed.note("customer", row.id, f"Changed the details of {row.name}.")
    return row


def add_contact(deed: Deed, customer_id: int, details: ContactDetails) -> ContactRow:
    """Add a contact. Raises Mistakes."""
    customer = get_customer(deed.session, customer_id)
    if mistakes := check_contact(details):
        raise Mistakes(mistakes)
    row = ContactRow(customer_id=customer.id, **columns_of(details))
    deed.session.add(row)
    deed.session.flush()
    deed.note("customer", customer.id, f"Added the contact {row.name}.")
    return row


def change_contact(deed: Deed, contact_id: int, details: ContactDetails) -> ContactRow:
    """Change a contact. Raises Mistakes."""
    row = get_contact(deed.session, contact_id)
    if mistakes := check_contact(details):
        raise Mistakes(mistakes)
    fill(row, details)
    deed.note("customer", row.customer_id, f"Changed the contact {row.name}.")
    return row


def remove_contact(deed: Deed, contact_id: int) -> int:
    """Remove a contact; gives the id of its customer."""
    row = get_contact(deed.session, contact_id)
    deed.session.delete(row)
    deed.note("customer", row.customer_id, f"Removed the contact {row.name}.")
    return row.customer_id
