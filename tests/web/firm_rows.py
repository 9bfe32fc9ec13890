"""Rows of the firm at work that take a few deeds: a bank's file, a customer's word through a share link, an e-mail."""

from app.actions import bank_lines, mail_servers, mail_topics, statements, tasks
from app.actions.deeds import Deed, Desk
from app.rules.bank_statements import Mapping
from app.rules.mail_texts import MailKind, MailText
from app.rules.mail_topics import Topic
from app.rules.mails import MailServerDetails, Security
from app.rules.share_links import LinkScope
from app.store.bank_lines import list_bank_lines
from app.store.defects import list_open_defects_of_all
from app.store.share_links import ShareLinkRow
from tests.cast import World
from tests.pictures import photo


def bank_statement(deed: Deed) -> tuple[int, int]:
    """A statement that waits for its columns, and an open line of an earlier one."""
    earlier = bank_lines.upload_statement(deed, "January", b"Date,Details,Amount\n05/01/2026,SALTGATE,12.00\n")
    bank_lines.take_in_statement(deed, earlier.id, Mapping(day=0, text=1, amount=2))
    waiting = bank_lines.upload_statement(deed, "February", b"Date,Details,Amount\n05/02/2026,SALTGATE,13.00\n")
    return waiting.id, list_bank_lines(deed.session)[0].id


def customers_word(deed: Deed, link: ShareLinkRow, technician_id: int) -> dict[str, object]:
    """A report that a failed item is put right, with a photo, which a technician takes; the names for its addresses."""
    defect = list_open_defects_of_all(deed.session, scope=link.scope)[0].defect
    word = tasks.Word("Ada Lomas", "01632 960123", "A new plug is on")
    said = tasks.report_remedy(deed, link.id, defect.item_id, word, photo(64, 48))
    deed.session.refresh(said, ["photos"])
    tasks.take_task(deed, said.id, technician_id)
    return {
        "defect_id": defect.id,
        "failed_item_id": defect.item_id,
        "task_id": said.id,
        "task_photo_id": said.photos[0].id,
        "slug": "certificate",
        "syntax": "ubl",
    }


def account_by_mail(desk: Desk, world: World) -> dict[str, object]:
    """A message that waits, with the other customer's account, at a mail server where nobody listens."""
    account = Topic(MailKind.STATEMENT, LinkScope(world.other_customer_id, with_money=True), (desk.today, desk.today))
    drawn = statements.draw_statement(desk, world.other_customer_id, desk.today, desk.today)
    server = MailServerDetails("127.0.0.1", 9, Security.NONE, "", "office@tarn-alder.example")
    text = MailText("Your account", "See {link}")
    with desk.doing(world.office) as deed:
        mail_servers.change_mail_server(deed, desk.keys_folder, server, "", None)
        mail = mail_topics.put_in_outbox(deed, account, "ada@example.com", text, statement=drawn)
        return {"mail_id": mail.id, "attachment_id": mail.attachments[0].id}
