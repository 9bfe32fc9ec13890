"""A recall from its list to the letter that arrives, on both databases and through a real SMTP server."""

from dataclasses import replace
from io import BytesIO

import pypdfium2
import pytest

from app.actions import items, mail_servers, mails, recall_letters, recalls, visits
from app.actions.deeds import Desk
from app.actions.readings import record_item
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.items import ItemDetails
from app.rules.mails import MailServerDetails, MailState, Security
from app.rules.recall_letters import RecallLetter
from app.rules.verdicts import Mistakes, Outcome, Refused
from app.store.items import get_item, list_open_defects
from app.store.recalls import count_recall_notices, get_recall_hit, list_recall_hits
from tests.cast import KETTLE, World
from tests.mail_catcher import mail_server

LIST = (
    b"Notice,Brand,Model,Product,Hazard,What to do\n"
    b"R-7,Hobbin,HK 220,Electric kettle,The base may catch fire,Stop using it and ask for a new one\n"
    b"R-8,Corrie,T9,Toaster,Electric shock,Stop using it\n"
)


def name_item(desk: Desk, world: World, item_id: int, **own: str) -> None:
    with desk.doing(world.office) as deed:
        items.change_item(deed, item_id, replace(get_item(deed.session, item_id).details, **own))  # type: ignore[arg-type]


def take_in(desk: Desk, world: World, content: bytes = LIST) -> tuple[int, int]:
    with desk.doing(world.owner) as deed:
        row = recalls.upload_recall_list(deed, "A list", content)
        row = recalls.take_in_recall_list(deed, row.id, row.columns)
        return row.taken, row.known


def hits(desk: Desk, state: str = "") -> list[tuple[int, str, int]]:
    with desk.reading_only() as session:
        return [(row.id, row.item.number, row.score) for row in list_recall_hits(session, state)]


def test_the_same_list_again_makes_nothing_twice(desk: Desk, world: World) -> None:
    name_item(desk, world, world.item_ids[0], make="Hobin", model="HK220")
    assert take_in(desk, world) == (2, 0)
    found = hits(desk)
    assert [(number, score > 90) for _, number, score in found] == [("0001", True)]
    assert take_in(desk, world) == (0, 2)
    # In another order, with other spaces, and one notice more.
    lines = LIST.replace(b"HK 220", b" HK  220").splitlines()
    assert take_in(desk, world, b"\n".join([lines[0], lines[2], lines[1], b"R-9,Marram,M1,Lamp,Fire,Stop"])) == (1, 2)
    assert hits(desk) == found
    with desk.reading_only() as session:
        assert count_recall_notices(session) == 3


def test_items_that_come_later_are_compared_too(desk: Desk, world: World) -> None:
    take_in(desk, world)
    assert hits(desk) == []
    with desk.doing(world.technician) as deed:
        details = ItemDetails("", "Toaster", world.location_id, make="Corrie", model="T9", facts=KETTLE)
        new = items.add_item(deed, details)
    assert [number for _, number, _ in hits(desk)] == [new.number]
    name_item(desk, world, new.id, model="T10")  # it was read wrongly: nobody had decided, so the proposal goes
    assert hits(desk) == []
    name_item(desk, world, new.id, model="T9")
    ((hit_id, _, _),) = hits(desk)
    with desk.doing(world.office) as deed:
        recalls.dismiss_hit(deed, hit_id, "The plate says T19")
    name_item(desk, world, new.id, make="Corrie Ltd")
    assert [each[0] for each in hits(desk, "dismissed")] == [hit_id]
    with desk.doing(world.office) as deed:
        recalls.look_again(deed, hit_id)
    assert [each[0] for each in hits(desk, "proposed")] == [hit_id]


def test_a_confirmed_recall_is_a_defect_that_no_test_closes(desk: Desk, world: World) -> None:
    kettle = world.item_ids[0]
    name_item(desk, world, kettle, make="Hobbin", model="HK 220")
    take_in(desk, world)
    ((hit_id, _, _),) = hits(desk)
    with desk.doing(world.owner) as deed:
        get_item(deed.session, kettle).own_checks = ["visual"]
        with pytest.raises(Mistakes):
            recalls.dismiss_hit(deed, hit_id, " ")
    with desk.doing(world.office) as deed:
        recalls.confirm_hit(deed, hit_id, "The plate says so", out_of_use=True)
    with desk.doing(world.office) as deed, pytest.raises(Refused):
        recalls.confirm_hit(deed, hit_id, "", out_of_use=True)
    with desk.doing(world.technician) as deed:
        assert get_item(deed.session, kettle).state == "out of use"
        (defect,) = list_open_defects(deed.session, kettle)
        assert defect.found == "Recalled product (notice R-7): Hobbin HK 220, Electric kettle: The base may catch fire"
        visits.start_visit(deed, world.visit_id)
        record_item(deed, world.visit_id, kettle, [Entry(Check.VISUAL, outcome=Outcome.PASS)])
    with desk.doing(world.office) as deed:
        assert [row.id for row in list_open_defects(deed.session, kettle)] == [defect.id]
        recalls.settle_hit(deed, hit_id, "Replaced by its maker")
    with desk.reading_only() as session:
        assert list_open_defects(session, kettle) == []
        assert get_recall_hit(session, hit_id).decided_reason == "Replaced by its maker"


def test_a_letter_is_kept_drawn_and_arrives(desk: Desk, world: World) -> None:
    name_item(desk, world, world.item_ids[0], make="Hobbin", model="HK 220")
    take_in(desk, world)
    ((hit_id, _, _),) = hits(desk)
    with desk.doing(world.office) as deed:
        with pytest.raises(Refused):
            recall_letters.keep_recall_letter(deed, world.customer_id, RecallLetter("S", "B"))
        recalls.confirm_hit(deed, hit_id, "", out_of_use=False)
    with desk.doing(world.office) as deed:
        letter, waiting = recall_letters.write_recall_letter(deed.session, world.customer_id, "Bea Holm")
        assert [hit.id for hit in waiting] == [hit_id]
        assert "Item 0001, Kettle, Staff room, Brackenhow Primary School main site: Hobbin HK 220" in letter.body
        assert "It is still in use by our records." in letter.body
        with pytest.raises(Mistakes):
            recall_letters.keep_recall_letter(deed, world.customer_id, RecallLetter("", letter.body))
        letter_id = recall_letters.keep_recall_letter(deed, world.customer_id, letter).id
        assert recall_letters.write_recall_letter(deed.session, world.customer_id, "Bea Holm")[1] == []
    paper = pypdfium2.PdfDocument(BytesIO(recall_letters.draw_recall_letter(desk, letter_id)))
    text = " ".join(" ".join(page.get_textpage().get_text_bounded() for page in paper).split())
    assert "A recall of equipment that you have" in text and "The base may catch fire" in text
    with mail_server() as caught:
        with desk.doing(world.owner) as deed:
            details = MailServerDetails("127.0.0.1", caught.port, Security.NONE, "", "office@tarn-alder.example")
            mail_servers.change_mail_server(deed, desk.keys_folder, details, "", None)
        with desk.doing(world.office) as deed:
            with pytest.raises(Mistakes):
                recall_letters.post_recall_letter(deed, letter_id, "nobody")
            mail_id = recall_letters.post_recall_letter(deed, letter_id, "ada@example.com").id
        assert mails.send_mail(desk, mail_id) == MailState.SENT
    (message,) = caught.messages
    assert message["To"] == "ada@example.com" and message["Subject"] == "A recall of equipment that you have"
    body = message.get_body(("plain",))
    assert body is not None and "Stop using it and ask for a new one" in " ".join(body.get_content().split())
    (attached,) = message.iter_attachments()
    assert attached.get_content_type() == "application/pdf" and attached.get_content().startswith(b"%PDF")


def test_a_list_that_cannot_be_read_is_refused(desk: Desk, world: World) -> None:
    with desk.doing(world.owner) as deed:
        for content in (b"\x00\x01\x02", b"  ", b"one"):
            with pytest.raises(Mistakes):
                recalls.upload_recall_list(deed, "x", content)
        row = recalls.upload_recall_list(deed, "x", LIST)
        with pytest.raises(Mistakes):
            recalls.take_in_recall_list(deed, row.id, {"make": None})
        recalls.discard_recall_list(deed, row.id)
        with pytest.raises(Refused):
            recalls.take_in_recall_list(deed, row.id, {"make": 1})
