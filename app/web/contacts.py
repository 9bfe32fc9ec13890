"""The contacts of a customer: people there, with what they do and how to reach them."""

from fastapi import APIRouter, Request, Response

from app.actions.customers import add_contact, change_contact, remove_contact
from app.rules.customers import ContactDetails
from app.rules.verdicts import Mistakes
from app.store.customers import get_contact, get_customer
from app.web.fields import Form
from app.web.kit import Doing, Reading, Sent, ask_again, go, page

routes = APIRouter()


@routes.get("/customers/{customer_id}/contacts/new")
def new_contact(request: Request, session: Reading, customer_id: int) -> Response:
    return page(request, "customers/new_contact.html", form=Form(), customer=get_customer(session, customer_id))


@routes.post("/customers/{customer_id}/contacts")
def save_new_contact(request: Request, deed: Doing, sent: Sent, customer_id: int) -> Response:
    customer = get_customer(deed.session, customer_id)
    try:
        add_contact(deed, customer_id, _details_from(sent))
    except Mistakes as wrong:
        raise ask_again(request, "customers/new_contact.html", sent, wrong, customer=customer) from wrong
    return go(f"/customers/{customer_id}")


@routes.get("/contacts/{contact_id}/edit")
def edit_contact(request: Request, session: Reading, contact_id: int) -> Response:
    row = get_contact(session, contact_id)
    form = Form.showing(name=row.name, role=row.role, phone=row.phone, email=row.email)
    customer = get_customer(session, row.customer_id)
    return page(request, "customers/edit_contact.html", form=form, contact=row, customer=customer)


@routes.post("/contacts/{contact_id}")
def save_contact(request: Request, deed: Doing, sent: Sent, contact_id: int) -> Response:
    row = get_contact(deed.session, contact_id)
    customer = get_customer(deed.session, row.customer_id)
    try:
        change_contact(deed, contact_id, _details_from(sent))
    except Mistakes as wrong:
        raise ask_again(request, "customers/edit_contact.html", sent, wrong, contact=row, customer=customer) from wrong
    return go(f"/customers/{customer.id}")


@routes.post("/contacts/{contact_id}/remove")
def remove_contact_of_customer(deed: Doing, contact_id: int) -> Response:
    return go(f"/customers/{remove_contact(deed, contact_id)}")


def _details_from(sent: Form) -> ContactDetails:
    details = ContactDetails(
        name=sent.text("name", needed="Give the contact's name."),
        role=sent.text("role"),
        phone=sent.text("phone", 40),
        email=sent.text("email"),
    )
    sent.done()
    return details
