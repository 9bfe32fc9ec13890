"""Giving the accountant the sales records of a period as a file."""

from datetime import date

from sqlalchemy.orm import Session

from app.documents.sales_records import sales_csv_from
from app.store.vat_records import list_vat_records


def export_sales_records(session: Session, starts_on: date, ends_on: date) -> bytes:
    """The records of the papers that count in a period, both days included, as CSV."""
    return sales_csv_from(list_vat_records(session, starts_on, ends_on))
