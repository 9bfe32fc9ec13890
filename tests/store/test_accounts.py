"""Accounts as the database tells them: balance = invoice − credits − payments for any run of deeds, and the sales
records equal to the papers to the penny."""

import csv
import io
from datetime import timedelta
from decimal import Decimal
from random import Random

import pytest

from app.actions import payments, visits
from app.actions.credit_notes import CreditRequest, issue_credit_note
from app.actions.deeds import Desk
from app.actions.invoices import DraftLine
from app.actions.sales_records import export_sales_records
from app.rules.credit_notes import CreditWish
from app.rules.payments import PaymentDetails
from app.rules.statements import total_ageing, total_statement
from app.rules.verdicts import Mistakes
from app.rules.visits import Booking
from app.store.accounts import list_account_entries, list_aged_accounts, list_debts, list_story_of_invoice
from app.store.credit_notes import list_credit_notes
from app.store.invoices import count_owed_pence, get_invoice, list_invoices
from app.store.payments import count_held_pence
from tests.cast import Clock, World
from tests.issued_invoices import issue


@pytest.mark.parametrize("seed", [1, 2])
def test_any_run_of_deeds_keeps_every_account_in_balance(desk: Desk, world: World, clock: Clock, seed: int) -> None:
    luck = Random(seed)
    invoice_ids: list[int] = []
    came = back = 0
    for _ in range(3):
        with desk.doing(world.office) as deed:
            booking = Booking(world.premises_id, world.technician.id, world.instrument_id, deed.today)
            visit_id = visits.book_visit(deed, booking).id
        price = Decimal(luck.randint(100, 99999)) / 100
        invoice_ids.append(issue(desk, world, [DraftLine("Testing", Decimal(luck.randint(1, 9)), price)], visit_id))
        for _ in range(3):
            clock.pass_time(days=luck.randint(0, 20))
            invoice_id, pence = luck.choice(invoice_ids), luck.randint(1, 300_000)
            try:
                if luck.random() < 0.6:
                    with desk.doing(world.office) as deed:
                        payments.record_payment(deed, invoice_id, deed.today, pence)
                    came += pence
                elif luck.random() < 0.7:
                    wish = CreditWish(0, amount=Decimal(luck.randint(1, 5000)) / 100)
                    issue_credit_note(desk, world.office, invoice_id, CreditRequest((wish,), "Agreed", desk.today))
                else:
                    with desk.doing(world.office) as deed:
                        payments.refund_customer(deed, world.customer_id, PaymentDetails(deed.today, pence // 10))
                    back += pence // 10
            except Mistakes:
                continue
    with desk.reading_only() as session:
        rows = [get_invoice(session, each) for each in invoice_ids]
        for row in rows:
            assert row.owed_pence == row.gross_pence - row.credited_pence - row.paid_pence
            assert 0 <= row.owed_pence <= row.gross_pence
            assert row.credited_pence <= row.gross_pence
            story = list_story_of_invoice(row)
            assert story[-1].owed_pence == row.owed_pence
        held = count_held_pence(session, world.customer_id)
        assert held == came - back - sum(row.paid_pence for row in rows) >= 0
        entries, debts = list_account_entries(session, world.customer_id), list_debts(session, world.customer_id)
        ageing = total_ageing(entries, debts, desk.today)
        assert (ageing.owed_pence, ageing.held_pence) == (sum(row.owed_pence for row in rows), held)
        assert count_owed_pence(session, desk.today) == (ageing.owed_pence, ageing.overdue_pence)
        told = total_statement(entries, debts, desk.today - timedelta(days=400), desk.today)
        assert told.opening_pence == 0 and told.closing_pence == ageing.balance_pence
        everybody = list_aged_accounts(session, desk.today)
        assert sum(each.ageing.balance_pence for each in everybody) == ageing.balance_pence
        by_state = {
            word: {row.id for row in list_invoices(session, state=word, today=desk.today)}
            for word in ("owed", "paid", "credited", "part paid", "overdue")
        }
        for row in rows:
            state = row.state_on(desk.today).value
            assert (row.id in by_state["owed"]) == (row.owed_pence > 0)
            for word in ("paid", "credited", "overdue"):
                assert (row.id in by_state[word]) == (state == word), (word, state)


def test_the_sales_records_equal_the_papers_to_the_penny(desk: Desk, world: World, clock: Clock) -> None:
    first = issue(
        desk, world, [DraftLine("=Testing", Decimal(7), Decimal("0.335")), DraftLine("Fuse", Decimal(1), Decimal(3))]
    )
    start = desk.today
    clock.pass_time(days=40)
    issue_credit_note(desk, world.office, first, CreditRequest((CreditWish(1),), "Not fitted", desk.today))
    with desk.reading_only() as session:
        invoice, [note] = get_invoice(session, first), list_credit_notes(session)
        everything = rows_of(export_sales_records(session, start, desk.today))
        early = rows_of(export_sales_records(session, start, start + timedelta(days=30)))
        assert [row["number"] for row in early] == ["INV-000001"]
        assert sum_of(everything, "net") == invoice.net_pence - note.net_pence
        assert sum_of(everything, "vat") == invoice.vat_pence - note.vat_pence
        assert sum_of(early, "gross") == invoice.gross_pence
        assert everything[1]["corrects"] == "INV-000001"
        assert (everything[1]["issued_on"], everything[1]["tax_point"]) == (desk.today.isoformat(), start.isoformat())
        # 0.335 × 7 = 2.345, half up 2.35; with 3.00: 5.35 and VAT 1.07; credited: 3.00 and VAT 0.60.
        assert [(row["net"], row["vat"], row["vat_rate"]) for row in everything] == [
            ("5.35", "1.07", "20"), ("-3.00", "-0.60", "20"),
        ]  # fmt: skip


def rows_of(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def sum_of(rows: list[dict[str, str]], name: str) -> int:
    return int(sum(Decimal(row[name]) for row in rows) * 100)
