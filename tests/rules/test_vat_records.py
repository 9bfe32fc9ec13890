"""Sales records and their sums: nothing is lost between the papers and the sums, and no cell runs in a spreadsheet.

VAT Notice 700/22 asks for time of supply, value without VAT and rate of each supply; OWASP names the cells to guard.
"""

import csv
import io
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.documents.sales_records import COLUMNS, plain_cell_from, sales_csv_from
from app.rules.money import VatCategory
from app.rules.vat_records import Paper, VatRecord, total_vat_records

DAY = date(2026, 3, 4)
AMOUNTS = st.decimals(-10_000, 10_000, places=2)
RECORDS = st.lists(
    st.builds(
        VatRecord,
        paper=st.sampled_from(Paper),
        number=st.sampled_from(["INV-000001", "INV-000002", "CN-000001"]),
        issued_on=st.just(DAY),
        tax_point=st.just(date(2026, 2, 28)),
        customer=st.text(max_size=30),
        customer_id=st.integers(1, 99),
        category=st.sampled_from([VatCategory.STANDARD, VatCategory.ZERO]),
        rate=st.sampled_from([Decimal(20), Decimal("5.00"), Decimal("5")]),
        net=AMOUNTS,
        vat=AMOUNTS,
    ),
    max_size=12,
)


def rows_of(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))


@given(RECORDS)
def test_sums_and_file_hold_what_the_records_hold(records: list[VatRecord]) -> None:
    sums = total_vat_records(records)
    rows = rows_of(sales_csv_from(records))
    assert sum(each.net for each in sums) == sum(each.net for each in records)
    assert sum(each.vat for each in sums) == sum(Decimal(row["vat"]) for row in rows)
    assert sum(Decimal(row["gross"]) for row in rows) == sum(each.net + each.vat for each in records)
    assert len(sums) == len({(each.category, each.rate) for each in records}), "5 and 5.00 are one rate"
    for row in rows:
        assert tuple(row) == COLUMNS
        for name, cell in row.items():
            if name not in ("net", "vat", "gross"):
                assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))


def test_a_credit_note_counts_on_its_own_day() -> None:
    told = {"customer": "X", "customer_id": 1, "category": VatCategory.STANDARD, "rate": Decimal(20), "vat": Decimal(1)}
    for paper, day in ((Paper.INVOICE, date(2026, 2, 28)), (Paper.CREDIT_NOTE, DAY)):
        record = VatRecord(paper, "N", DAY, date(2026, 2, 28), net=Decimal(5), **told)  # type: ignore[arg-type]
        assert record.counts_on == day


@pytest.mark.parametrize(
    ("text", "cell"),
    [("=1+1", "'=1+1"), ("+44", "'+44"), ("-5", "'-5"), ("@SUM(A1)", "'@SUM(A1)"), ("\t=1", "'\t=1"), (" =1", "' =1"),
     ("Low Mill", "Low Mill"), ("", "")],
)  # fmt: skip
def test_a_cell_that_a_spreadsheet_would_run_is_text(text: str, cell: str) -> None:
    assert plain_cell_from(text) == cell
