"""Drafting, editing, issuing and settling invoices. Sums are those of EN 16931-1: VAT once a rate, half up."""

import contextlib
import itertools
import threading
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from hashlib import sha256
from pathlib import Path

import pytest

from app.actions import customers, firms, invoices, paper_files, payments, prices, visits
from app.actions.deeds import Desk
from app.actions.invoices import DraftLine
from app.rules.customers import CustomerDetails
from app.rules.equipment import Kind
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import Booking
from app.store.customers import get_customer
from app.store.firms import get_firm
from app.store.invoices import count_invoices, count_owed_pence, get_invoice, list_invoices
from tests.cast import Clock, World
from tests.documents.reading_back import text_of
from tests.finished_visits import begin_worked_through, work_through

ONE = Decimal(1)


@pytest.fixture
def finished(desk: Desk, world: World) -> World:
    begin_worked_through(desk, world.technician, world.visit_id, left_out=2)
    return world


def draft(desk: Desk, world: World, visit_id: int | None = None) -> int:
    with desk.doing(world.office) as deed:
        return invoices.draft_invoice(deed, visit_id or world.visit_id).id


def issued(desk: Desk, world: World) -> int:
    invoice_id = draft(desk, world)
    invoices.issue_invoice(desk, world.office, invoice_id)
    return invoice_id


def test_a_draft_charges_what_was_tested_up_to_the_minimum(desk: Desk, finished: World) -> None:
    # Agreed: 1.35 an item, 25.00 call-out, at least 60.00. Two of three items were tested: 2.70 + 25.00 + 32.30.
    invoice_id = draft(desk, finished)
    with desk.reading_only() as session:
        row = get_invoice(session, invoice_id)
        told = [(line.basis, line.quantity, line.price, line.item_numbers) for line in row.lines]
        assert told == [
            ("items", Decimal(2), Decimal("1.35"), ["0001", "0002"]),
            ("call-out", ONE, Decimal("25.00"), []),
            ("minimum", ONE, Decimal("32.30"), []),
        ]
        assert (row.net_pence, row.vat_pence, row.gross_pence) == (6000, 1200, 7200)
        assert (row.state, row.number) == ("draft", None)


def test_prices_are_those_of_the_day_of_the_visit_and_of_the_customer(desk: Desk, finished: World) -> None:
    with desk.doing(finished.owner) as deed:
        today = deed.today
        prices.agree_prices(deed, None, today + timedelta(days=1), 999)
        prices.agree_prices(deed, finished.other_customer_id, today, 888)
        prices.agree_prices(deed, finished.customer_id, today, 150, kinds={Kind.EXTENSION_LEAD: 90})
    invoice_id = draft(desk, finished)
    with desk.reading_only() as session:
        row = get_invoice(session, invoice_id)
        assert [(line.kind, line.price) for line in row.lines] == [("", Decimal("1.50"))]
        assert row.net_pence == 300


def test_there_is_no_draft_before_the_end_or_without_prices(desk: Desk, world: World) -> None:
    with pytest.raises(Refused, match="this one is booked"):
        draft(desk, world)
    work_through(desk, world.technician, world.visit_id)
    with desk.doing(world.owner) as deed:
        prices.drop_prices(deed, 1, None)
    with pytest.raises(Refused, match="No prices are agreed"):
        draft(desk, world)


def test_a_visit_has_one_draft(desk: Desk, finished: World) -> None:
    assert draft(desk, finished) == draft(desk, finished)
    with desk.reading_only() as session:
        assert count_invoices(session) == 1


def test_a_changed_line_keeps_what_it_rests_on(desk: Desk, finished: World) -> None:
    invoice_id = draft(desk, finished)
    with desk.doing(finished.office) as deed:
        first = get_invoice(deed.session, invoice_id).lines[0].id
        lines = [
            DraftLine("Testing as agreed by telephone", Decimal(2), Decimal("1.25"), first),
            DraftLine("Fuses, 13 A", Decimal(3), Decimal("0.335")),
            DraftLine("Goodwill", Decimal(-1), Decimal("2.00")),
        ]
        invoices.change_draft(deed, invoice_id, lines, " PO 1188 ")
    with desk.reading_only() as session:
        row = get_invoice(session, invoice_id)
        assert [(line.basis, line.item_numbers) for line in row.lines] == [
            ("items", ["0001", "0002"]),
            ("extra", []),
            ("extra", []),
        ]
        assert [line.unit for line in row.lines] == ["items", "", ""]
        # 2.50 + 1.01 (1.005 half up) - 2.00 = 1.51, and 20 % of it 0.302: 0.30.
        assert (row.net_pence, row.vat_pence, row.gross_pence) == (151, 30, 181)
        assert row.reference == "PO 1188"


def test_a_line_with_the_same_words_keeps_what_it_rests_on_once(desk: Desk, finished: World) -> None:
    invoice_id = draft(desk, finished)
    with desk.doing(finished.office) as deed:
        same = ("Inspection and test", Decimal(2), Decimal("1.35"))
        invoices.change_draft(deed, invoice_id, [same, same])
    with desk.reading_only() as session:
        lines = get_invoice(session, invoice_id).lines
        assert [line.item_numbers for line in lines] == [["0001", "0002"], []]


@pytest.mark.parametrize(
    ("line", "field"),
    [
        (DraftLine(" ", ONE, ONE), "text_1"),
        (DraftLine("Fuses", Decimal(0), ONE), "quantity_1"),
        (DraftLine("Fuses", Decimal(100_001), ONE), "quantity_1"),
        (DraftLine("Fuses", ONE, Decimal(-1)), "price_1"),
        (DraftLine("Fuses", ONE, Decimal("1000000.01")), "price_1"),
    ],
)
def test_a_bad_line_is_named_and_nothing_changes(desk: Desk, finished: World, line: DraftLine, field: str) -> None:
    invoice_id = draft(desk, finished)
    with pytest.raises(Mistakes) as wrong, desk.doing(finished.office) as deed:
        invoices.change_draft(deed, invoice_id, [DraftLine("Good", ONE, ONE), line])
    assert set(wrong.value.messages) == {field}
    with desk.reading_only() as session:
        assert get_invoice(session, invoice_id).gross_pence == 7200


def test_a_draft_is_not_overwritten_by_an_older_page(desk: Desk, finished: World) -> None:
    invoice_id = draft(desk, finished)
    with desk.doing(finished.office) as deed:
        old = get_invoice(deed.session, invoice_id).version
        invoices.change_draft(deed, invoice_id, [DraftLine("New", ONE, ONE)], version=old)
    with pytest.raises(Refused, match="Somebody else has changed"), desk.doing(finished.owner) as deed:
        invoices.change_draft(deed, invoice_id, [DraftLine("Old", ONE, ONE)], version=old)
    with pytest.raises(Refused, match="Somebody else has changed"):
        invoices.issue_invoice(desk, finished.owner, invoice_id, version=old)


def test_an_issued_invoice_is_a_frozen_paper(desk: Desk, finished: World) -> None:
    invoice_id = issued(desk, finished)
    with desk.reading_only() as session:
        row = get_invoice(session, invoice_id)
        assert (row.number, row.state) == ("INV-000001", "issued")
        assert (row.issued_on, row.due_on) == (desk.today, desk.today + timedelta(days=30))
        content = invoices.open_invoice(desk, row)
        assert sha256(content).hexdigest() == row.sha256
    text = text_of(content)
    for said in ("INV-000001", "£60.00", "£12.00", "£72.00", "GB 999 9999 73", "3 April 2026", "Items 0001, 0002"):
        assert said in text
    for deed_of in (
        lambda deed: invoices.change_draft(deed, invoice_id, [DraftLine("Other", ONE, ONE)]),
        lambda deed: invoices.discard_draft(deed, invoice_id),
    ):
        with (
            pytest.raises(Refused, match="INV-000001 is issued and does not change"),
            desk.doing(finished.owner) as deed,
        ):
            deed_of(deed)
    with pytest.raises(Refused, match="is issued: INV-000001"):
        invoices.issue_invoice(desk, finished.owner, invoice_id)
    with desk.reading_only() as session:
        assert invoices.open_invoice(desk, get_invoice(session, invoice_id)) == content


def test_what_stands_against_issuing_is_said_and_takes_no_number(desk: Desk, finished: World) -> None:
    invoice_id = draft(desk, finished)
    with desk.doing(finished.office) as deed:
        invoices.change_draft(deed, invoice_id, [DraftLine("Goodwill", Decimal(-1), ONE)])
    with pytest.raises(Refused, match="below zero. Money back to a customer is a credit note"):
        invoices.issue_invoice(desk, finished.owner, invoice_id)
    with desk.reading_only() as session:
        row = get_invoice(session, invoice_id)
        assert (row.state, row.number, row.data) == ("draft", None, None)
    with desk.doing(finished.office) as deed:
        invoices.change_draft(deed, invoice_id, [DraftLine("Testing", ONE, ONE)])
    invoices.issue_invoice(desk, finished.owner, invoice_id)
    with desk.reading_only() as session:
        assert get_invoice(session, invoice_id).number == "INV-000001"


def test_a_firm_that_is_not_registered_charges_no_vat_and_does_not_mention_it(desk: Desk, finished: World) -> None:
    # VAT Regulations 1995, reg. 14, is for registered persons; others show no tax at all (HMRC guidance).
    invoice_id = draft(desk, finished)
    with desk.doing(finished.owner) as deed:
        details = replace(get_firm(deed.session).details, vat_registered=False, vat_number="")
        firms.change_firm(deed, details)
    invoices.issue_invoice(desk, finished.owner, invoice_id)
    with desk.reading_only() as session:
        row = get_invoice(session, invoice_id)
        assert (row.net_pence, row.vat_pence, row.gross_pence) == (6000, 0, 6000)
        text = text_of(invoices.open_invoice(desk, row))
    assert "£60.00" in text
    assert "VAT" not in text
    assert "20%" not in text


def test_the_address_of_the_premises_serves_a_customer_without_one(desk: Desk, finished: World) -> None:
    with desk.doing(finished.office) as deed:
        name = get_customer(deed.session, finished.customer_id).name
        customers.change_customer(deed, finished.customer_id, CustomerDetails(name))
    invoice_id = draft(desk, finished)
    with desk.reading_only() as session:
        row = get_invoice(session, invoice_id)
        paper, against = invoices.preview_invoice(session, row, desk.today)
    assert against == ()
    assert paper["customer"]["address"] == ["1 High Street", "Millbeck", "ZZ1 1AA"]


def test_a_discarded_draft_leaves_no_hole_and_can_be_drafted_anew(desk: Desk, finished: World) -> None:
    with desk.doing(finished.office) as deed:
        assert invoices.discard_draft(deed, invoices.draft_invoice(deed, finished.visit_id).id) == finished.visit_id
    with desk.reading_only() as session:
        assert count_invoices(session) == 0
    invoice_id = issued(desk, finished)
    with desk.reading_only() as session:
        assert get_invoice(session, invoice_id).number == "INV-000001"


def test_an_invoice_that_a_crash_left_is_finished_later(
    desk: Desk, finished: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    invoice_id = draft(desk, finished)

    def out_of_power(*_: object) -> str:
        raise OSError("no space left on the disk")

    with monkeypatch.context() as broken:
        broken.setattr(paper_files, "keep_paper", out_of_power)
        with pytest.raises(OSError, match="no space"):
            invoices.issue_invoice(desk, finished.office, invoice_id)
    with pytest.raises(Refused, match="does not change"), desk.doing(finished.office) as deed:
        invoices.change_draft(deed, invoice_id, [DraftLine("Other", ONE, ONE)])
    assert invoices.finish_pending_invoices(desk) == 1
    with desk.reading_only() as session:
        row = get_invoice(session, invoice_id)
        assert (row.number, row.state) == ("INV-000001", "issued")
        invoices.open_invoice(desk, row)


def test_invoices_are_found_by_word_and_by_where_they_stand(desk: Desk, finished: World, clock: Clock) -> None:
    work_through(desk, finished.technician, finished.other_visit_id)
    first = issued(desk, finished)
    second = draft(desk, finished, finished.other_visit_id)
    due = clock.today + timedelta(days=30)

    def found(state: str = "", search: str = "", today: date = due) -> set[int]:
        with desk.reading_only() as session:
            ids = {row.id for row in list_invoices(session, state=state, search=search, today=today)}
            assert count_invoices(session, None, state, search, today) == len(ids)
            return ids

    assert found() == {first, second}
    assert (found("draft"), found("owed"), found("paid"), found("overdue")) == ({second}, {first}, set(), set())
    assert found("overdue", today=due + timedelta(days=1)) == {first}
    assert found(search="saltgate") == {second}
    assert found(search="INV-0000") == {first}
    with desk.doing(finished.office) as deed:
        payments.record_payment(deed, first, deed.today, 7000)
    assert (found("part paid"), found("paid")) == ({first}, set())
    with desk.reading_only() as session:
        assert count_owed_pence(session, due) == (200, 0)
        assert count_owed_pence(session, due + timedelta(days=1)) == (200, 200)
    with desk.doing(finished.office) as deed:
        payments.record_payment(deed, first, deed.today, 200)
    assert (found("part paid"), found("paid"), found("owed")) == (set(), {first}, set())
    with desk.reading_only() as session:
        assert count_owed_pence(session, due + timedelta(days=1)) == (0, 0)


def test_many_issued_at_once_make_a_series_without_gap_or_double(
    desk: Desk, world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Real threads; every third drawing dies of a full disk, and is finished afterwards."""
    drafts = []
    for _ in range(6):
        with desk.doing(world.office) as deed:
            booking = Booking(world.premises_id, world.technician.id, world.instrument_id, deed.today)
            visit_id = visits.book_visit(deed, booking).id
        work_through(desk, world.technician, visit_id)
        drafts.append(draft(desk, world, visit_id))
    keep, calls, counting = paper_files.keep_paper, itertools.count(), threading.Lock()

    def sometimes(folder: Path, name: str, content: bytes) -> str:
        with counting:
            number = next(calls)
        if number % 3 == 1:
            raise OSError("no space left on the disk")
        return keep(folder, name, content)

    ready = threading.Barrier(len(drafts))

    def press(invoice_id: int) -> None:
        ready.wait()
        with contextlib.suppress(OSError):
            invoices.issue_invoice(desk, world.office, invoice_id)

    with monkeypatch.context() as broken:
        broken.setattr(paper_files, "keep_paper", sometimes)
        threads = [threading.Thread(target=press, args=(invoice_id,)) for invoice_id in drafts]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert invoices.finish_pending_invoices(desk) == 2
    with desk.reading_only() as session:
        rows = [get_invoice(session, invoice_id) for invoice_id in drafts]
        assert sorted(str(row.number) for row in rows) == [f"INV-{number:06d}" for number in range(1, 7)]
        for row in rows:
            assert row.state == "issued"
            assert str(row.number) in text_of(invoices.open_invoice(desk, row))
