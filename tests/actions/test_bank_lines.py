"""Bringing in bank statements: looked at first, the same line once, booked only where a person ticks."""

import pytest

from app.actions import payments
from app.actions.bank_lines import (
    book_bank_lines,
    bring_bank_line_back,
    discard_statement,
    preview_statement,
    propose_matches,
    set_bank_line_aside,
    take_in_statement,
    upload_statement,
)
from app.actions.deeds import Desk
from app.rules.bank_statements import Mapping
from app.rules.payments import PaymentDetails
from app.rules.verdicts import Mistakes, Refused
from app.store.bank_lines import get_bank_file, list_bank_lines
from app.store.invoices import get_invoice
from app.store.payments import count_held_pence, list_payments
from tests.cast import World
from tests.issued_invoices import begin_issued

COLUMNS = Mapping(day=0, text=1, amount=2)
FEBRUARY = "Date,Details,Amount\n04/03/2026,BRACKENHOW PRIMARY INV 1,125.00\n04/03/2026,RENT,-500.00\n"


def take_in(desk: Desk, world: World, text: str = FEBRUARY) -> tuple[int, int]:
    """Bring a statement in; gives how many lines were new and how many known."""
    with desk.doing(world.office) as deed:
        row = upload_statement(deed, "Statement", text.encode())
    with desk.doing(world.office) as deed:
        taken = take_in_statement(deed, row.id, COLUMNS)
        return taken.taken, taken.known


def line_ids(desk: Desk, state: str = "open") -> list[int]:
    with desk.reading_only() as session:
        return [row.id for row in list_bank_lines(session, state)]


def test_nothing_is_written_but_the_file_until_it_is_taken_in(desk: Desk, world: World) -> None:
    begin_issued(desk, world)
    with desk.doing(world.office) as deed:
        file_id = upload_statement(deed, "Statement", FEBRUARY.encode()).id
    with desk.reading_only() as session:
        file, mapping, read, lines = preview_statement(session, get_bank_file(session, file_id))
        assert (file.columns, mapping) == (("Date", "Details", "Amount"), COLUMNS)
        assert read is not None and (read.others, [each.known for each in lines]) == (1, [False])
        assert list_bank_lines(session) == []
    with desk.doing(world.office) as deed:
        discard_statement(deed, file_id)
    with pytest.raises(Refused, match="dealt with"), desk.doing(world.office) as deed:
        take_in_statement(deed, file_id, COLUMNS)
    assert line_ids(desk) == []


def test_the_same_line_is_known_the_second_time(desk: Desk, world: World) -> None:
    assert take_in(desk, world) == (1, 0)
    assert take_in(desk, world, FEBRUARY + "05/03/2026,BRACKENHOW PRIMARY INV 1,125.00\n") == (1, 1)
    twin = "Date,Details,Amount\n" + "05/03/2026,CASH,5.00\n" * 2
    assert take_in(desk, world, twin) == (2, 0), "two alike in one file are two"
    assert take_in(desk, world, twin) == (0, 2)
    assert len(line_ids(desk)) == 4
    with desk.reading_only() as session:
        assert get_bank_file(session, 1).content is None, "the file itself is not kept"


def test_columns_are_remembered_for_the_same_bank(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        row = upload_statement(deed, "One", b"When,Details,Other,Amount\n04/03/2026,A,B,1.00\n")
        take_in_statement(deed, row.id, Mapping(day=0, text=2, amount=3))
        again = upload_statement(deed, "Two", b"When,Details,Other,Amount\n05/03/2026,A,B,1.00\n")
        assert (again.columns["day"], again.columns["text"], again.columns["amount"]) == (0, 2, 3)


def test_a_row_that_cannot_be_read_stops_the_file(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        row = upload_statement(deed, "Bad", b"Date,Details,Amount\n04/03/2026,A,1.00\nsoon,B,2.00\n")
    with pytest.raises(Mistakes, match="Row 3 cannot be read"), desk.doing(world.office) as deed:
        take_in_statement(deed, row.id, COLUMNS)
    assert line_ids(desk) == []
    with pytest.raises(Mistakes) as wrong, desk.doing(world.office) as deed:
        upload_statement(deed, "Picture", b"\x89PNG\x00")
    assert set(wrong.value.messages) == {"file"}


def test_a_tick_books_a_line_for_the_proposed_invoice_and_holds_the_rest(desk: Desk, world: World) -> None:
    invoice_id = begin_issued(desk, world)
    take_in(desk, world)
    with desk.reading_only() as session:
        [(line, proposals)] = propose_matches(session)
        assert [each.id for each in proposals[0].invoices] == [invoice_id]
        line_id = line.id
        assert list_payments(session, world.customer_id) == []
    with desk.doing(world.office) as deed:
        assert book_bank_lines(deed, [(line_id, [invoice_id])]) == 1
    with desk.reading_only() as session:
        assert get_invoice(session, invoice_id).owed_pence == 0
        assert count_held_pence(session, world.customer_id) == 500
        [payment] = list_payments(session, world.customer_id)
        payment_id = payment.id
        assert (payment.bank_line_id, payment.pence, payment.reference) == (line_id, 12500, "BRACKENHOW PRIMARY INV 1")
    with pytest.raises(Mistakes) as wrong, desk.doing(world.office) as deed:
        book_bank_lines(deed, [(line_id, [invoice_id])])
    assert set(wrong.value.messages) == {f"choice_{line_id}"}
    with desk.doing(world.office) as deed:
        payments.remove_payment(deed, payment_id, "Wrong line")
    assert line_ids(desk) == [line_id], "a removed payment opens its line again"


def test_two_lines_for_one_invoice_are_booked_in_turn_or_not_at_all(desk: Desk, world: World) -> None:
    invoice_id = begin_issued(desk, world)
    take_in(desk, world, "Date,Details,Amount\n04/03/2026,ONE,120.00\n04/03/2026,TWO,120.00\n")
    first, second = line_ids(desk)
    with pytest.raises(Mistakes), desk.doing(world.office) as deed:
        book_bank_lines(deed, [(first, [invoice_id]), (second, [invoice_id])])
    assert line_ids(desk) == [first, second]
    with desk.reading_only() as session:
        assert get_invoice(session, invoice_id).owed_pence == 12000


def test_a_line_by_hand_and_a_line_aside(desk: Desk, world: World) -> None:
    take_in(desk, world)
    [line_id] = line_ids(desk)
    with desk.doing(world.office) as deed:
        set_bank_line_aside(deed, line_id)
    assert (line_ids(desk), line_ids(desk, "aside")) == ([], [line_id])
    told = PaymentDetails(desk.today, 12500)
    with pytest.raises(Refused, match="dealt with already"), desk.doing(world.office) as deed:
        payments.take_payment(deed, world.customer_id, told, {}, bank_line_id=line_id)
    with desk.doing(world.office) as deed:
        bring_bank_line_back(deed, line_id)
        payments.take_payment(deed, world.customer_id, told, {}, bank_line_id=line_id)
    assert line_ids(desk, "booked") == [line_id]
    with desk.reading_only() as session:
        assert count_held_pence(session, world.customer_id) == 12500
