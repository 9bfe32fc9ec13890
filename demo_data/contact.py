"""What passes between the demo's firm and its customers: links, a customer's word, a corrected paper, letters."""

from dataclasses import replace
from datetime import timedelta
from random import Random
from typing import Any

from app.actions.items import change_item
from app.actions.letters import send_recall, send_visit_letter, write_recall, write_visit_letter
from app.actions.revisions import revise_certificate
from app.actions.share_links import open_share_link, share
from app.actions.tasks import Word, ask_for_visit, report_remedy
from app.rules.mail_texts import MailKind
from app.rules.share_links import LinkScope
from app.store.certificates import list_certificates
from app.store.customers import get_customer
from app.store.defects import list_open_defects_of_all
from app.store.premises import list_premises
from app.store.readings import list_visit_items
from app.store.visits import get_visit
from demo_data.on_site import draw_plug


def hear_in_demo(demo: Any) -> None:
    """Two customers got their folders: one says that an item is put right, with a photo; another asks for a visit."""
    demo.go_to(demo.today - timedelta(days=8), 14)
    with demo.desk.doing(demo.office) as deed:
        customer_id, other_id = (demo.customer_ids[name] for name in ("Harbour Row Offices", "Saltgate Brewery"))
        item_id = list_open_defects_of_all(deed.session, customer_id)[-1].item.id
        folder, other = (share(deed, LinkScope(id_), note="Everything") for id_ in (customer_id, other_id))
    demo.go_to(demo.today - timedelta(days=2), 16, 20)
    with demo.desk.doing(None) as deed:
        link_id, said = _open(deed, folder), "Our electrician fitted a new plug this morning."
        report_remedy(deed, link_id, item_id, _word(deed, customer_id, said), draw_plug(Random(3)))
    demo.go_to(demo.today - timedelta(days=1), 8, 40)
    with demo.desk.doing(None) as deed:
        link_id, said = _open(deed, other), "We have some new equipment since your last visit."
        ask_for_visit(deed, link_id, replace(_word(deed, other_id, said), wished="Any Tuesday, not before nine"))


def _open(deed: Any, token: str) -> int:
    link = open_share_link(deed, token)
    assert link is not None
    return link.id


def _word(deed: Any, customer_id: int, said: str) -> Word:
    contact = get_customer(deed.session, customer_id).contacts[0]
    return Word(contact.name, contact.phone, said)


def correct_in_demo(demo: Any) -> None:
    """The newest certificate but one told a serial number wrongly; the customer noticed, and it was corrected."""
    demo.go_to(demo.today - timedelta(days=1), 14)
    with demo.desk.doing(demo.office) as deed:
        certificate = list_certificates(deed.session, limit=2)[-1]
        item = next(row.item for row in list_visit_items(deed.session, certificate.visit_id) if row.item.serial)
        change_item(deed, item.id, replace(item.details, serial=f"{int(item.serial) + 9}"))
        certificate_id = certificate.id
    revise_certificate(demo.desk, demo.owner, certificate_id, f"The serial number of item {item.number} was misread.")


def write_in_demo(demo: Any, visit_id: int) -> None:
    """Print the letters that are due: a booking confirmed, and a place told that its tests fall due."""
    with demo.desk.doing(demo.office) as deed:
        visit, writer = get_visit(deed.session, visit_id), demo.office.name
        _, text = write_visit_letter(deed.session, visit, MailKind.BOOKING, writer)
        send_visit_letter(deed, demo.desk, visit_id, MailKind.BOOKING, "", text, printed=True)
        place = next(row for row in list_premises(deed.session) if row.name == "Brewhouse")
        _, text = write_recall(deed.session, place, writer, demo.desk)
        send_recall(deed, demo.desk, place.id, "", text, printed=True)
