"""A list as a file: CSV for every program, or a sheet for a spreadsheet. Nothing that a text holds is ever run.

In CSV a text that a spreadsheet would run gets an apostrophe before it (OWASP, CSV injection); in a sheet every text is
written as text. Numbers and days are numbers and days in both.
"""

import csv
import io
from datetime import date, datetime
from decimal import Decimal

import xlsxwriter

from app.documents.sales_records import plain_cell_from
from app.rules.listings import Cell, Listing

_WIDTH_LEAST, _WIDTH_MOST = 8, 60


def listing_csv_from(listing: Listing) -> bytes:
    """Give a list as CSV in UTF-8 with its mark, which spreadsheets want; days as ISO 8601."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(listing.head)
    for row in listing.rows:
        writer.writerow([_plain(cell) for cell in row])
    return text.getvalue().encode("utf-8-sig")


def listing_xlsx_from(listing: Listing, made_on: date) -> bytes:
    """Give a list as a sheet (ISO/IEC 29500) with its head kept in sight and filters on it."""
    file = io.BytesIO()
    book = xlsxwriter.Workbook(
        file, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    )
    book.set_properties({"title": listing.name, "created": datetime(made_on.year, made_on.month, made_on.day)})
    sheet = book.add_worksheet(listing.name[:31])
    bold = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    day = book.add_format({"num_format": "d mmm yyyy", "align": "left"})
    money = book.add_format({"num_format": "#,##0.00"})
    for column, word in enumerate(listing.head):
        sheet.write_string(0, column, word, bold)
    for place, row in enumerate(listing.rows, 1):
        for column, cell in enumerate(row):
            if isinstance(cell, Decimal):
                sheet.write_number(place, column, float(cell), money)
            elif isinstance(cell, int):
                sheet.write_number(place, column, cell)
            elif isinstance(cell, date):
                sheet.write_datetime(place, column, datetime(cell.year, cell.month, cell.day), day)
            elif cell:
                sheet.write_string(place, column, cell)
    for column, word in enumerate(listing.head):
        longest = max((len(_plain(row[column])) for row in listing.rows), default=0)
        sheet.set_column(column, column, min(max(longest, len(word), _WIDTH_LEAST) + 2, _WIDTH_MOST))
    sheet.freeze_panes(1, 0)
    if listing.rows:
        sheet.autofilter(0, 0, len(listing.rows), len(listing.head) - 1)
    book.close()
    return file.getvalue()


def _plain(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, int):
        return str(cell)
    return f"{cell:f}" if isinstance(cell, Decimal) else plain_cell_from(cell)
