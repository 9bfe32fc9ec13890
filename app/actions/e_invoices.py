"""The structured side of an issued invoice: the files that a customer's program reads, from the frozen data alone."""

from typing import Any, Protocol

from app.documents.cii import cii_from
from app.documents.ubl import ubl_from
from app.rules.verdicts import Refused

SYNTAXES = ("ubl", "cii")


class StructuredPaper(Protocol):
    """A row of an issued invoice or credit note."""

    number: Any
    state: str
    data: Any


def open_structured(row: StructuredPaper, syntax: str) -> bytes:
    """Write an issued paper as UBL ("ubl") or Cross Industry Invoice ("cii"). Refuses what is not issued."""
    if row.state != "issued" or row.data is None:
        raise Refused("This paper is not issued yet.")
    terms = row.data.get("terms_en16931")
    if terms is None:
        raise Refused(f"{row.number} was issued before Ohmstead wrote structured invoices. Its PDF is the paper.")
    return ubl_from(terms) if syntax == "ubl" else cii_from(terms)
