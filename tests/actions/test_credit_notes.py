"""Crediting invoices: two phases, a series without a gap, never above the invoice, also when many press at once.

What a credit note must show: VAT Regulations 1995 (SI 1995/2518), regulation 15, and 15C from memory; VATREC13040.
"""

import threading
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from hashlib import sha256

import pytest
from sqlalchemy import text as sql
from sqlalchemy.exc import DBAPIError

from app.actions import firms, invoices, paper_files, payments
from app.actions.credit_notes import (
    CreditRequest,
    finish_pending_credit_notes,
    issue_credit_note,
    open_credit_note,
    preview_credit_note,
)
from app.actions.deeds import Desk
from app.actions.invoices import DraftLine
from app.rules.credit_notes import CreditWish
from app.rules.verdicts import Mistakes, Refused
from app.store.credit_notes import get_credit_note, list_credit_notes
from app.store.database import CLASHES
from app.store.firms import get_firm
from app.store.invoices import get_invoice
from app.store.journal import list_journal
from app.store.payments import count_held_pence
from tests.cast import Clock, World
from tests.documents.reading_back import text_of
from tests.finished_visits import begin_worked_through
from tests.issued_invoices import begin_issued, issue
from tests.kept_rows import as_kept


def ask(
    desk: Desk, *wishes: CreditWish, reason: str = "Twelve items were counted twice", **more: object
) -> CreditRequest:
    return CreditRequest(wishes or (CreditWish(0), CreditWish(1)), reason, desk.today, **more)  # type: ignore[arg-type]


def test_a_part_is_credited_on_a_paper_of_its_own(desk: Desk, world: World) -> None:
    invoice_id = begin_issued(desk, world)
    note_id = issue_credit_note(desk, world.office, invoice_id, ask(desk, CreditWish(0, quantity=Decimal(12))))
    with desk.reading_only() as session:
        row, invoice = get_credit_note(session, note_id), get_invoice(session, invoice_id)
        assert (row.number, row.state) == ("CN-000001", "issued")
        # Twelve of forty at 2.00: 24.00 and 20 % of it.
        assert (row.net_pence, row.vat_pence, row.gross_pence) == (2400, 480, 2880)
        assert (invoice.gross_pence, invoice.credited_pence, invoice.owed_pence) == (12000, 2880, 9120)
        assert invoice.state_on(desk.today) == "issued"
        content = open_credit_note(desk, row)
        assert sha256(content).hexdigest() == row.sha256
        invoiced = get_invoice(session, invoice_id).data
    said = text_of(content)
    for words in (
        "Credit note", "CN-000001", "Date 4 March 2026", "Corrects invoice INV-000001 of 4 March 2026, in part.",
        "Reason Twelve items were counted twice", "VAT number GB 999 9999 73", "Brackenhow Primary School",
        "2 Mill Lane, Millbeck, ZZ1 2AB", "12 items £2.00 20% £24.00", "Total without VAT £24.00", "VAT £4.80",
        "Total credited £28.80", "£91.20 is to be paid on invoice INV-000001",
    ):  # fmt: skip
        assert words in said, words
    assert invoiced is not None and invoiced["totals"]["BT-112"] == "120.00"


def test_the_whole_of_it_leaves_nothing_to_credit(desk: Desk, world: World) -> None:
    invoice_id = begin_issued(desk, world)
    issue_credit_note(desk, world.office, invoice_id, ask(desk, CreditWish(1, amount=Decimal("5"))))
    issue_credit_note(desk, world.office, invoice_id, ask(desk))
    with desk.reading_only() as session:
        invoice = get_invoice(session, invoice_id)
        assert (invoice.owed_pence, invoice.state_on(desk.today)) == (0, "credited")
        assert [row.gross_pence for row in invoice.credit_notes] == [600, 11400]
    with pytest.raises(Mistakes) as wrong:
        issue_credit_note(desk, world.office, invoice_id, ask(desk, CreditWish(0)))
    assert "Nothing is left to credit" in wrong.value.messages["amount_0"]
    with desk.reading_only() as session:
        assert [row.number for row in list_credit_notes(session)] == ["CN-000002", "CN-000001"]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"reason": "  "}, "reason"),
        ({"wishes": (CreditWish(0, quantity=Decimal(41)),)}, "quantity_0"),
        ({"wishes": (CreditWish(1, amount=Decimal("20.01")),)}, "amount_1"),
        ({"wishes": ()}, ""),
        ({"agreed_on": timedelta(days=1)}, "agreed_on"),
        ({"agreed_on": timedelta(days=-1)}, "agreed_on"),
    ],
)
def test_what_is_wrong_is_said_beside_its_field_and_takes_no_number(
    desk: Desk, world: World, changes: dict[str, object], field: str
) -> None:
    invoice_id = begin_issued(desk, world)
    given: dict[str, object] = {"wishes": (CreditWish(0),), "reason": "A mistake", "agreed_on": desk.today}
    if isinstance(changes.get("agreed_on"), timedelta):
        changes = {"agreed_on": desk.today + changes["agreed_on"]}  # type: ignore[operator]
    with pytest.raises(Mistakes) as wrong:
        issue_credit_note(desk, world.office, invoice_id, CreditRequest(**(given | changes)))  # type: ignore[arg-type]
    assert set(wrong.value.messages) == {field}
    note_id = issue_credit_note(desk, world.office, invoice_id, ask(desk))
    with desk.reading_only() as session:
        assert get_credit_note(session, note_id).number == "CN-000001"


def test_nothing_is_issued_unseen(desk: Desk, world: World) -> None:
    invoice_id = begin_issued(desk, world)
    with desk.reading_only() as session:
        paper, in_time = preview_credit_note(session, get_invoice(session, invoice_id), ask(desk), desk.today)
    assert (paper["totals"]["BT-112"], in_time) == ("120.00", True)
    issue_credit_note(desk, world.owner, invoice_id, ask(desk, CreditWish(1)))
    with pytest.raises((Refused, Mistakes)):
        issue_credit_note(desk, world.office, invoice_id, ask(desk, CreditWish(0), seen=Decimal("120.00")))
    with desk.reading_only() as session:
        assert len(list_credit_notes(session)) == 1


def test_a_note_later_than_14_days_is_said_so(desk: Desk, world: World, clock: Clock) -> None:
    invoice_id = begin_issued(desk, world)
    agreed = clock.today
    clock.pass_time(days=15)
    request = CreditRequest((CreditWish(0),), "A mistake", agreed)
    with desk.reading_only() as session:
        assert preview_credit_note(session, get_invoice(session, invoice_id), request, desk.today)[1] is False
    issue_credit_note(desk, world.office, invoice_id, request)
    with desk.reading_only() as session:
        assert "later than 14 days after" in list_journal(session, "invoice", invoice_id)[0].sentence


def test_what_was_paid_too_much_is_held_for_the_customer(desk: Desk, world: World) -> None:
    invoice_id = begin_issued(desk, world)
    with desk.doing(world.office) as deed:
        payments.record_payment(deed, invoice_id, deed.today, 9000)
        payments.record_payment(deed, invoice_id, deed.today, 2000)
    issue_credit_note(desk, world.office, invoice_id, ask(desk, CreditWish(0)))  # 96.00 of 120.00
    with desk.reading_only() as session:
        invoice = get_invoice(session, invoice_id)
        assert (invoice.owed_pence, invoice.paid_pence, invoice.state_on(desk.today)) == (0, 2400, "paid")
        assert [share.pence for share in invoice.shares] == [2400], "the latest payment gives way first"
        assert count_held_pence(session, world.customer_id) == 11000 - 2400
        said = " ".join(line.sentence for line in list_journal(session, "invoice", invoice_id))
        assert "£86.00 paid on it is held as the customer's credit now." in said


def test_a_draft_is_not_credited(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    with desk.doing(world.office) as deed:
        draft_id = invoices.draft_invoice(deed, world.visit_id).id
    with pytest.raises(Refused, match="Only an issued invoice can be credited"):
        issue_credit_note(desk, world.office, draft_id, ask(desk))


def test_a_firm_that_left_vat_credits_the_vat_that_it_charged(desk: Desk, world: World) -> None:
    invoice_id = begin_issued(desk, world)
    with desk.doing(world.owner) as deed:
        firms.change_firm(deed, replace(get_firm(deed.session).details, vat_registered=False, vat_number=""))
    note_id = issue_credit_note(desk, world.office, invoice_id, ask(desk))
    with desk.reading_only() as session:
        row = get_credit_note(session, note_id)
        assert row.vat_pence == 2000
        assert "VAT number GB 999 9999 73" in text_of(open_credit_note(desk, row))


def test_a_firm_without_vat_does_not_mention_it(desk: Desk, world: World) -> None:
    with desk.doing(world.owner) as deed:
        firms.change_firm(deed, replace(get_firm(deed.session).details, vat_registered=False, vat_number=""))
    note_id = issue_credit_note(desk, world.office, issue(desk, world), ask(desk))
    with desk.reading_only() as session:
        row = get_credit_note(session, note_id)
        said = text_of(open_credit_note(desk, row))
        assert (row.net_pence, row.vat_pence, row.gross_pence) == (10000, 0, 10000)
    assert "VAT" not in said and "20%" not in said and "£100.00" in said


def test_a_note_that_a_crash_left_is_finished_later(desk: Desk, world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    invoice_id = begin_issued(desk, world)

    def out_of_power(*_: object) -> str:
        raise OSError("no space left on the disk")

    with monkeypatch.context() as broken:
        broken.setattr(paper_files, "keep_paper", out_of_power)
        with pytest.raises(OSError, match="no space"):
            issue_credit_note(desk, world.office, invoice_id, ask(desk, CreditWish(0)))
    with desk.reading_only() as session:
        [row] = list_credit_notes(session)
        note_id = row.id
        assert (row.number, row.state) == ("CN-000001", "pending")
        assert get_invoice(session, invoice_id).owed_pence == 2400, "its amount counts from its number on"
        with pytest.raises(Refused, match="not issued yet"):
            open_credit_note(desk, row)
    assert finish_pending_credit_notes(desk) == 1
    assert finish_pending_credit_notes(desk) == 0
    with desk.reading_only() as session:
        open_credit_note(desk, get_credit_note(session, note_id))


def _credited(desk: Desk, world: World) -> int:
    return issue_credit_note(desk, world.office, issue(desk, world), ask(desk, CreditWish(0)))


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE credit_notes SET gross_pence = 1",
        "UPDATE credit_notes SET reason = 'another'",
        "UPDATE credit_notes SET state = 'pending'",
        "DELETE FROM credit_notes",
        "UPDATE credit_note_lines SET net_pence = 1",
        "DELETE FROM credit_note_lines",
        "INSERT INTO credit_note_lines (credit_note_id, place, quantity, net_pence) VALUES (1, 1, '1', 1)",
        "UPDATE invoice_lines SET price = '1'",
        "DELETE FROM invoice_lines",
        "UPDATE invoices SET gross_pence = 1",
        "DELETE FROM invoices",
    ],
)
def test_the_database_itself_refuses_to_change_what_is_issued(desk: Desk, world: World, statement: str) -> None:
    as_kept(desk, _credited, world)
    with pytest.raises(DBAPIError, match="frozen|stays in its series"), desk.database.engine.begin() as connection:
        connection.execute(sql(statement))


def test_many_at_once_leave_no_gap_no_double_and_never_more_than_the_invoice(desk: Desk, world: World) -> None:
    """Real threads, each crediting a pound of a line of 20.00: twenty fit, the rest are refused."""
    invoice_id = issue(desk, world, [DraftLine("Call-out", Decimal(1), Decimal(20))])
    outcomes: list[str] = []
    ready = threading.Barrier(8)

    def press() -> None:
        ready.wait()
        for _ in range(3):
            try:
                issue_credit_note(
                    desk, world.office, invoice_id, ask(desk, CreditWish(0, amount=Decimal("1.00")), reason="Pound")
                )
                outcomes.append("issued")
            except Mistakes:
                outcomes.append("refused")
            except CLASHES:
                outcomes.append("clashed")

    threads = [threading.Thread(target=press) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with desk.reading_only() as session:
        rows = list_credit_notes(session)
        assert sorted(row.number for row in rows) == [f"CN-{number:06d}" for number in range(1, len(rows) + 1)]
        assert {row.state for row in rows} == {"issued"}
        assert outcomes.count("issued") == len(rows)
        assert len(outcomes) == 24
        assert outcomes.count("refused") >= 4
        invoice = get_invoice(session, invoice_id)
        assert invoice.credited_pence == sum(row.gross_pence for row in rows) <= 2400
        assert invoice.owed_pence == 2400 - invoice.credited_pence
