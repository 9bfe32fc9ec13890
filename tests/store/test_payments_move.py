"""Payments recorded before they belonged to customers: the migration keeps each of them, on both databases."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Date, DateTime, Integer, MetaData, Table, select
from sqlalchemy.types import Boolean

from app.rules.payments import Direction, Method
from app.store.database import Database
from app.store.invoices import get_invoice
from app.store.migrate import _config, upgrade
from app.store.payments import PaymentRow, count_held_pence

MOVE = "money_after_issue"


@pytest.fixture(params=["sqlite", "postgres"])
def old_database(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Database]:
    """A database as it was before the move."""
    url = (
        f"sqlite:///{tmp_path / 'old.db'}"
        if request.param == "sqlite"
        else request.getfixturevalue("empty_postgres_url")
    )
    database = Database(url)
    scripts = ScriptDirectory.from_config(_config(database.engine))
    before = next(each.down_revision for each in scripts.walk_revisions() if each.revision.endswith(MOVE))
    command.upgrade(_config(database.engine), str(before))
    yield database
    database.close()


def put(connection: Connection, name: str, **values: Any) -> None:
    """Put a row in a table as it is now; whatever must have a value and is not named gets the plainest there is."""
    table = Table(name, MetaData(), autoload_with=connection)
    day = date(2026, 1, 1)
    for column in table.columns:
        if column.name in values or column.nullable or column.server_default is not None:
            continue
        kind = column.type
        plain: object = f"{name} {column.name}"
        if isinstance(kind, Boolean):
            plain = False
        elif isinstance(kind, Integer):
            plain = 1
        elif isinstance(kind, DateTime):
            plain = datetime(2026, 1, 1, tzinfo=UTC)
        elif isinstance(kind, Date):
            plain = day
        elif column.name.endswith("_on") or column.name == "tax_point":
            plain = "2026-01-01"
        elif column.name.endswith("_at"):
            plain = "2026-01-01 00:00:00.000000"
        elif kind.__class__.__name__ == "JSON":
            plain = []
        values[column.name] = plain
    connection.execute(table.insert().values(**values))


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
