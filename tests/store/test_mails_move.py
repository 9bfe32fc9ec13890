"""E-mails from before they could be about any paper: each keeps its words and link, and what went with it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import text

from app.rules.share_links import LinkKind
from app.store.database import Database
from app.store.mails import RECALL_LETTER, get_mail, list_mails_with
from app.store.migrate import upgrade
from tests.old_databases import database_before, put


@pytest.fixture(params=["sqlite", "postgres"])
def old_database(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Database]:
    with database_before(request, tmp_path, "mails_about_papers") as database:
        yield database


def test_every_message_keeps_what_went_with_it(old_database: Database) -> None:
    with old_database.engine.begin() as connection:
        for name in ("people", "customers", "premises", "instruments", "visits", "share_links"):
            put(connection, name, id=1, **({"visit_id": 1} if name == "share_links" else {}))
        put(connection, "certificates", id=4, number="C-000004", sha256="c" * 64)
        put(connection, "invoices", id=5, number="INV-000005", sha256="d" * 64, state="issued")
        put(connection, "recall_letters", id=6)
        put(connection, "mails", id=11, visit_id=1, certificate_id=4, share_link_id=1, body="See {link}", kind="link")
        put(connection, "mails", id=12, visit_id=1, invoice_id=5)
        put(connection, "mails", id=13, recall_letter_id=6, attachment_sha256="e" * 64)
        put(connection, "mails", id=14, premises_id=1, invitation="BEGIN:VCALENDAR", state="sent")
    upgrade(old_database.engine)
    with old_database.reading() as session:
        went = {
            mail_id: [(each.paper_kind, each.paper_id, each.number, each.sha256[:1]) for each in mail.attachments]
            for mail_id in (11, 12, 13, 14)
            for mail in (get_mail(session, mail_id),)
        }
        assert went == {
            11: [("certificate", 4, "C-000004", "c")],
            12: [("invoice", 5, "INV-000005", "d")],
            13: [(RECALL_LETTER, 6, "", "e")],
            14: [],
        }
        first, last = get_mail(session, 11), get_mail(session, 14)
        assert (first.body, first.share_link_id, first.scope.kind, first.scope.with_money) == (
            "See {link}", 1, LinkKind.VISIT, True,
        )  # fmt: skip
        assert (last.invitation, last.state, last.premises_id) == ("BEGIN:VCALENDAR", "sent", 1)
        assert [mail.id for mail in list_mails_with(session, RECALL_LETTER, 6)] == [13]
        if old_database.engine.dialect.name == "sqlite":
            assert session.execute(text("PRAGMA foreign_key_check")).all() == []
            made = (
                "SELECT count(*) FROM sqlite_master WHERE name IN ('mails', 'mail_attachments') AND sql LIKE '%STRICT%'"
            )
            assert session.scalar(text(made)) == 2
