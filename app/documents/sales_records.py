"""The sales records of a period as CSV for the accountant: stable column names, ISO dates, decimal points, one row
a paper and VAT rate.

Text that a spreadsheet would run as a formula gets an apostrophe before it (OWASP, CSV injection). Amounts are ours and
are plain numbers, less than nothing on credit notes.
"""

import csv
import io
from collections.abc import Iterable

from app.rules.vat_records import VatRecord

COLUMNS = (
    "paper", "number", "issued_on", "tax_point", "counts_on", "customer_id", "customer", "corrects", "vat_category",
    "vat_rate", "net", "vat", "gross", "currency",
)  # fmt: skip
_RUN_BY_SPREADSHEETS = ("=", "+", "-", "@", "\t", "\r", "\n")


def sales_csv_from(records: Iterable[VatRecord]) -> bytes:
    """Give the records as CSV in UTF-8 with its mark, which spreadsheets want."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for record in records:
        writer.writerow(
            [
                record.paper.value,
                plain_cell_from(record.number),
                record.issued_on.isoformat(),
                record.tax_point.isoformat(),
                record.counts_on.isoformat(),
                record.customer_id,
                plain_cell_from(record.customer),
                plain_cell_from(record.corrects),
                record.category.value,
                "" if record.rate is None else f"{record.rate:f}",
                f"{record.net:.2f}",
                f"{record.vat:.2f}",
                f"{record.gross:.2f}",
                "GBP",
            ]
        )
    return text.getvalue().encode("utf-8-sig")


def plain_cell_from(text: str) -> str:
    """Give a text as a cell that no spreadsheet runs."""
    return f"'{text}" if text.lstrip(" \u00a0").startswith(_RUN_BY_SPREADSHEETS) or text.startswith("\t") else text
