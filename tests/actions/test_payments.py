"""Payments: in part, too much, for several invoices, back again; shared, taken off, removed with a reason. Common
practice, no source."""

import threading
from datetime import date, timedelta
from decimal import Decimal

import pytest
from sqlalchemy import text as sql
from sqlalchemy.exc import DBAPIError

from app.actions import invoices, payments, visits
from app.actions.deeds import Desk
from app.actions.invoices import DraftLine
from app.rules.payments import Method, PaymentDetails
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import Booking
from app.store.database import CLASHES
from app.store.invoices import get_invoice, list_open_invoices
from app.store.journal import list_journal
from app.store.payments import count_held_pence, get_payment, list_payments
from tests.cast import Clock, World
from tests.finished_visits import begin_worked_through
from tests.issued_invoices import begin_issued, issue


def details(desk: Desk, pence: int, **changes: object) -> PaymentDetails:
    return PaymentDetails(desk.today, pence, **changes)  # type: ignore[arg-type]


def two_invoices(desk: Desk, world: World, clock: Clock) -> tuple[int, int]:
    """120.00 due first, 60.00 due a week later, both of the same customer."""
    first = begin_issued(desk, world)
    with desk.doing(world.office) as deed:
        booking = Booking(world.premises_id, world.technician.id, world.instrument_id, deed.today)
        visit_id = visits.book_visit(deed, booking).id
    clock.pass_time(days=7)
    return first, issue(desk, world, [DraftLine("Testing", Decimal(1), Decimal(50))], visit_id)


def owed(desk: Desk, *invoice_ids: int) -> list[int]:
    with desk.reading_only() as session:
        return [get_invoice(session, each).owed_pence for each in invoice_ids]


def held(desk: Desk, world: World) -> int:
    with desk.reading_only() as session:
        return count_held_pence(session, world.customer_id)


def test_a_part_then_the_rest(desk: Desk, world: World) -> None:
    invoice_id = begin_issued(desk, world)
    with desk.doing(world.office) as deed:
        row = payments.record_payment(deed, invoice_id, deed.today, 7000, "BACS 7", Method.CARD)
        assert (row.held_pence, row.method, row.reference) == (0, "card", "BACS 7")
    with desk.reading_only() as session:
        assert get_invoice(session, invoice_id).state_on(desk.today) == "part paid"
    with desk.doing(world.office) as deed:
        payments.record_payment(deed, invoice_id, deed.today, 5000)
    with desk.reading_only() as session:
        assert get_invoice(session, invoice_id).state_on(desk.today) == "paid"
        assert list_open_invoices(session) == []
        said = " ".join(line.sentence for line in list_journal(session, "invoice", invoice_id))
    assert "Recorded a payment of £70.00" in said


def test_too_much_is_held_and_can_go_to_another_invoice(desk: Desk, world: World, clock: Clock) -> None:
    first, second = two_invoices(desk, world, clock)
    with desk.doing(world.office) as deed:
        payments.record_payment(deed, first, deed.today, 15000)
    assert (owed(desk, first, second), held(desk, world)) == ([0, 6000], 3000)
    with desk.doing(world.office) as deed:
        payments.match_credit(deed, world.customer_id, {second: 2500})
    assert (owed(desk, first, second), held(desk, world)) == ([0, 3500], 500)
    with pytest.raises(Mistakes) as wrong, desk.doing(world.office) as deed:
        payments.match_credit(deed, world.customer_id, {second: 501})
    assert "there is only £5.00" in wrong.value.messages[f"share_{second}"]


def test_one_payment_for_several_invoices(desk: Desk, world: World, clock: Clock) -> None:
    first, second = two_invoices(desk, world, clock)
    with desk.doing(world.office) as deed:
        row = payments.take_payment(deed, world.customer_id, details(desk, 18100), {first: 12000, second: 6000})
        assert row.held_pence == 100
    assert owed(desk, first, second) == [0, 0]
    with desk.doing(world.office) as deed:
        share = next(each for each in get_payment(deed.session, row.id).shares if each.invoice_id == second)
        payments.unmatch_payment(deed, row.id, share.id)
    assert (owed(desk, first, second), held(desk, world)) == ([0, 6000], 6100)
    with pytest.raises(Refused, match="does not pay that invoice"), desk.doing(world.office) as deed:
        payments.unmatch_payment(deed, row.id, share.id)


@pytest.mark.parametrize(
    ("pence", "later", "share", "field"),
    [
        (0, 0, None, "amount"),
        (-5, 0, None, "amount"),
        (100, 1, None, "paid_on"),
        (20000, 0, 12001, "share_1"),
        (100, 0, 101, "share_1"),
        (100, 0, 0, "share_1"),
    ],
)
def test_what_does_not_add_up_is_said_beside_its_field(
    desk: Desk, world: World, pence: int, later: int, share: int | None, field: str
) -> None:
    invoice_id = begin_issued(desk, world)
    told = PaymentDetails(desk.today + timedelta(days=later), pence)
    with pytest.raises(Mistakes) as wrong, desk.doing(world.office) as deed:
        payments.take_payment(deed, world.customer_id, told, {} if share is None else {invoice_id: share})
    assert set(wrong.value.messages) == {field}
    assert (owed(desk, invoice_id), held(desk, world)) == ([12000], 0)


def test_money_goes_back_only_out_of_what_is_held(desk: Desk, world: World) -> None:
    invoice_id = begin_issued(desk, world)
    with desk.doing(world.office) as deed:
        paid = payments.record_payment(deed, invoice_id, deed.today, 12500)
    with pytest.raises(Mistakes, match="£5.00 is held"), desk.doing(world.office) as deed:
        payments.refund_customer(deed, world.customer_id, details(desk, 501))
    with desk.doing(world.office) as deed:
        back = payments.refund_customer(deed, world.customer_id, details(desk, 500, reference="Overpaid"))
    assert held(desk, world) == 0
    with pytest.raises(Refused, match="Remove that refund first"), desk.doing(world.office) as deed:
        payments.remove_payment(deed, paid.id, "Wrong customer")
    with desk.doing(world.office) as deed:
        payments.remove_payment(deed, back.id, "The bank sent it back")
        payments.remove_payment(deed, paid.id, "Wrong customer")
    assert (owed(desk, invoice_id), held(desk, world)) == ([12000], 0)


def test_a_payment_is_removed_only_with_a_reason_that_stays(desk: Desk, world: World) -> None:
    invoice_id = begin_issued(desk, world)
    with desk.doing(world.office) as deed:
        row = payments.record_payment(deed, invoice_id, deed.today, 100)
    with pytest.raises(Mistakes) as wrong, desk.doing(world.office) as deed:
        payments.remove_payment(deed, row.id, " ")
    assert set(wrong.value.messages) == {"reason"}
    with desk.doing(world.office) as deed:
        payments.remove_payment(deed, row.id, "Typed twice")
    with pytest.raises(Refused, match="removed already"), desk.doing(world.office) as deed:
        payments.remove_payment(deed, row.id, "Again")
    with desk.reading_only() as session:
        [kept] = list_payments(session, world.customer_id)
        assert (kept.removed_reason, kept.held_pence) == ("Typed twice", 0)
        said = [line.sentence for line in list_journal(session, "invoice", invoice_id)]
        assert "Removed the payment of £1.00 on 4 March 2026: Typed twice" in said


def test_only_an_issued_invoice_of_the_same_customer_takes_a_payment(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    with desk.doing(world.office) as deed:
        draft_id = invoices.draft_invoice(deed, world.visit_id).id
    with pytest.raises(Refused, match="Only an issued invoice"), desk.doing(world.office) as deed:
        payments.record_payment(deed, draft_id, date(2026, 3, 4), 100)
    invoices.issue_invoice(desk, world.office, draft_id)
    with pytest.raises(Refused, match="another customer"), desk.doing(world.office) as deed:
        payments.take_payment(deed, world.other_customer_id, details(desk, 100), {draft_id: 100})


@pytest.mark.parametrize(
    "statement", ["UPDATE payments SET pence = 1", "UPDATE payments SET paid_on = '2020-01-01'", "DELETE FROM payments"]
)
def test_the_database_itself_keeps_payments(desk: Desk, world: World, statement: str) -> None:
    invoice_id = begin_issued(desk, world)
    with desk.doing(world.office) as deed:
        payments.record_payment(deed, invoice_id, deed.today, 100)
    with pytest.raises(DBAPIError, match="keeps its amount|never deleted"), desk.database.engine.begin() as connection:
        if statement.startswith("DELETE"):
            connection.execute(sql("DELETE FROM payment_shares"))
        connection.execute(sql(statement))


def test_many_payments_at_once_never_pay_more_than_is_owed(desk: Desk, world: World) -> None:
    """Real threads: 24 payments of 10.00 for an invoice of 120.00; twelve fill it, the rest are held."""
    invoice_id = begin_issued(desk, world)
    done: list[bool] = []
    ready = threading.Barrier(8)

    def press() -> None:
        ready.wait()
        for _ in range(3):
            try:
                with desk.doing(world.office) as deed:
                    payments.record_payment(deed, invoice_id, deed.today, 1000)
                done.append(True)
            except CLASHES:
                done.append(False)

    threads = [threading.Thread(target=press) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(done) == 24
    came = 1000 * sum(done)
    assert came >= 12000
    assert (owed(desk, invoice_id), held(desk, world)) == ([0], came - 12000)
