"""Giving a list as a file, to be worked on elsewhere."""

from datetime import date

from app.documents.sheets import listing_csv_from, listing_xlsx_from
from app.rules.listings import Listing


def export_listing(listing: Listing, kind: str, made_on: date) -> bytes:
    """The list as "csv" or "xlsx"."""
    return listing_csv_from(listing) if kind == "csv" else listing_xlsx_from(listing, made_on)
