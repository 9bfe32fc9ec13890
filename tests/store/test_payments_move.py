"""Payments recorded before they belonged to customers: the migration keeps each of them, on both databases."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from sqlalchemy import select

from app.rules.payments import Direction, Method
from app.store.database import Database
from app.store.invoices import get_invoice
from app.store.migrate import upgrade
from app.store.payments import PaymentRow, count_held_pence
from tests.old_databases import database_before, put


@pytest.fixture(params=["sqlite", "postgres"])
def old_database(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Database]:
    """A database as it was before the move."""
    with database_before(request, tmp_path, "money_after_issue") as database:
        yield database


def test_every_payment_keeps_its_number_day_amount_and_invoice(old_database: Database) -> None:
    with old_database.engine.begin() as connection:
        for name in ("people", "customers", "premises", "instruments", "visits"):
            put(connection, name, id=1)
        for number, gross in ((1, 12000), (2, 6000)):
            put(connection, "invoices", id=number, number=f"INV-{number:06d}", state="issued", gross_pence=gross)
        for number, invoice_id, pence in ((4, 1, 5000), (7, 2, 6000)):
            put(connection, "payments", id=number, invoice_id=invoice_id, pence=pence, reference=f"BACS {number}")
    upgrade(old_database.engine)
    with old_database.reading() as session:
        rows = list(session.scalars(select(PaymentRow).order_by(PaymentRow.id)))
        assert [(row.id, row.customer_id, row.pence, row.reference) for row in rows] == [
            (4, 1, 5000, "BACS 4"),
            (7, 1, 6000, "BACS 7"),
        ]
        for row in rows:
            assert (row.paid_on, row.recorded_at) == (date(2026, 1, 1), datetime(2026, 1, 1, tzinfo=UTC))
            assert (row.method, row.direction, row.held_pence) == (Method.BANK_TRANSFER, Direction.RECEIVED, 0)
        assert [get_invoice(session, number).owed_pence for number in (1, 2)] == [7000, 0]
        assert count_held_pence(session, 1) == 0
    with old_database.writing() as session:  # the next number follows the old ones
        row = PaymentRow(
            customer_id=1, direction="received", paid_on=date(2026, 1, 2), pence=1, method="cash", reference="",
            recorded_at=datetime(2026, 1, 2, tzinfo=UTC),
        )  # fmt: skip
        session.add(row)
        session.flush()
        assert row.id == 8
