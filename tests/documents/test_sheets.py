"""Lists as files, read back by a library that did not write them. Formulas: OWASP, CSV injection."""

import csv
import io
import re
import zipfile
from datetime import date
from decimal import Decimal

import python_calamine

from app.documents.sheets import listing_csv_from, listing_xlsx_from
from app.rules.listings import Listing

NASTY = ("=1+1", "+44 1632 960000", "-2", "@SUM(A1)", "\t=1", '=HYPERLINK("http://x.example")', "00123", "Łódź, “é”\nx")
DAY = date(2026, 3, 4)
LISTING = Listing(
    "A list", ("Text", "Day", "Pounds", "Number"),
    tuple((text, DAY, Decimal("1234.50"), 7) for text in NASTY) + (("", None, None, 0),),
)  # fmt: skip


def test_a_csv_file_holds_no_formula() -> None:
    content = listing_csv_from(LISTING)
    assert content.startswith(b"\xef\xbb\xbf")
    rows = list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))
    assert rows[0] == list(LISTING.head) and len(rows) == len(NASTY) + 2
    for text, row in zip(NASTY, rows[1:], strict=False):
        assert row[0].lstrip("'") == text and row[1:] == ["2026-03-04", "1234.50", "7"]
        assert not row[0].startswith(("=", "+", "-", "@", "\t"))
    assert rows[-1] == ["", "", "", "0"]


def test_a_sheet_holds_text_as_text_and_numbers_as_numbers() -> None:
    content = listing_xlsx_from(LISTING, DAY)
    (sheet,) = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(content)).sheet_names
    assert sheet == "A list"
    rows = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_name(sheet).to_python()
    assert rows[0] == list(LISTING.head)
    for text, row in zip(NASTY, rows[1:], strict=False):
        assert row == [text, DAY, 1234.5, 7]
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        xml = parts.read("xl/worksheets/sheet1.xml").decode()
        assert "<f>" not in xml and "hyperlink" not in xml.lower()
        assert re.search(r"<pane ySplit=\"1\"", xml)


def test_an_empty_list_is_a_head_alone() -> None:
    empty = Listing("Nothing", ("A", "B"), ())
    assert listing_csv_from(empty).decode("utf-8-sig") == "A,B\r\n"
    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(listing_xlsx_from(empty, DAY)))
    assert book.get_sheet_by_index(0).to_python() == [["A", "B"]]
