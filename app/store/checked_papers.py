"""What the public check says of an issued paper: number, day, counts, hash and whether it still holds. No customer."""

from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from app.rules.certificates import Standing
from app.store.certificates import CertificateRow, find_certificate_by_code, find_newest_revision
from app.store.claims import ClaimRow
from app.store.credit_notes import CreditNoteRow
from app.store.invoices import InvoiceRow, get_invoice
from app.store.paper_codes import PaperCodeRow, find_paper_code
from app.store.paper_parts import list_paper_parts
from app.store.papers import PaperRow, find_newest_paper, find_paper_by_code
from app.store.quotes import QuoteRow

MoneyRow = InvoiceRow | CreditNoteRow | ClaimRow | QuoteRow
_MONEY: dict[str, type[Any]] = {
    "invoice": InvoiceRow,
    "quote": QuoteRow,
    "credit note": CreditNoteRow,
    "claim": ClaimRow,
}


@dataclass(frozen=True)
class CheckedPart:
    """A further file of a paper that has its schedule in parts."""

    place: int
    sha256: str
    first_page: int
    last_page: int


@dataclass(frozen=True)
class CheckedPaper:
    """One issued paper. counts are (how many, verdict, word); what stands against it is empty while it holds.

    as_at: for papers that show the state of a day, that day.
    parts: the further files of one that has its schedule in parts; then file and SHA-256 are those of its cover.
    about_invoice: the number of the invoice that a credit note or a claim is about. credited_by: number and day of each
    credit note against an invoice. No sum of money is told: the page is open to whoever holds the paper.
    """

    word: str
    number: str
    code: str
    issued_on: date
    sha256: str
    size_bytes: int
    standing: Standing
    counts: tuple[tuple[int, str, str], ...] = ()
    items: int | None = None
    as_at: date | None = None
    replaces: str = ""
    newest_number: str = ""
    newest_on: date | None = None
    void_at: datetime | None = None
    void_reason: str = ""
    parts: tuple[CheckedPart, ...] = ()
    about_invoice: str = ""
    credited_by: tuple[tuple[str, date], ...] = ()
    withdrawn_on: date | None = None
    prices_hold_until: date | None = None
    quote_state: str = ""


def find_checked_paper(session: Session, code: str, today: date) -> CheckedPaper | None:
    """The issued paper that carries a code. today: for a quote, whose prices hold for so long."""
    row = find_certificate_by_code(session, code)
    if row is not None:
        return None if row.state != "issued" else _of_certificate(session, row)
    paper = find_paper_by_code(session, code)
    if paper is not None:
        return None if paper.state != "issued" else _of_paper(session, paper)
    about_money = find_paper_code(session, code)
    return None if about_money is None else _of_money(session, about_money, today)


def _of_certificate(session: Session, row: CertificateRow) -> CheckedPaper:
    newest, rest = find_newest_revision(session, row), row.items - row.passed - row.failed
    counts = ((row.passed, "pass", "passed"), (row.failed, "fail", "failed"), (rest, "incomplete", "not tested"))
    return CheckedPaper(
        word="certificate",
        number=row.number,
        code=row.code,
        issued_on=row.issued_on,
        sha256=row.sha256,
        size_bytes=row.size_bytes,
        standing=row.standing,
        counts=counts if rest else counts[:2],
        items=row.items,
        replaces=row.revision.replaces.number if row.revision else "",
        newest_number=newest.number if newest is not row else "",
        newest_on=newest.issued_on if newest is not row else None,
        void_at=row.void.voided_at if row.void else None,
        void_reason=row.void.reason if row.void else "",
        parts=_parts(session, "certificate", row.id),
    )


def _of_paper(session: Session, row: PaperRow) -> CheckedPaper:
    newest = find_newest_paper(session, row)
    tallies = row.data["summary"]["tallies"]
    return CheckedPaper(
        word=row.kind,
        number=row.number,
        code=row.code,
        issued_on=row.issued_on,
        sha256=row.sha256,
        size_bytes=row.size_bytes,
        standing=row.standing,
        counts=tuple((tally["count"], tally["verdict"], tally["word"]) for tally in tallies),
        items=row.items,
        as_at=row.as_at,
        replaces=row.revision.replaces.number if row.revision else "",
        newest_number=newest.number if newest is not row else "",
        newest_on=newest.issued_on if newest is not row else None,
        void_at=row.void.voided_at if row.void else None,
        void_reason=row.void.reason if row.void else "",
        parts=_parts(session, "paper", row.id),
    )


def _of_money(session: Session, told: PaperCodeRow, today: date) -> CheckedPaper | None:
    row: MoneyRow | None = session.get(_MONEY[told.paper], told.paper_id)
    if row is None or row.state != "issued" or row.number is None or row.issued_on is None:
        return None
    found = CheckedPaper(
        word=told.paper,
        number=row.number,
        code=told.code,
        issued_on=row.issued_on,
        sha256=row.sha256,
        size_bytes=row.size_bytes,
        standing=Standing.ISSUED,
    )
    match row:
        case InvoiceRow():
            notes = [(note.number, note.issued_on) for note in row.credit_notes if note.state == "issued"]
            return replace(found, credited_by=tuple(notes))
        case QuoteRow():
            return replace(found, prices_hold_until=row.valid_until, quote_state=row.state_on(today).value)
    about = get_invoice(session, row.invoice_id).number or ""
    withdrawn_on = row.withdrawn_on if isinstance(row, ClaimRow) else None
    standing = Standing.VOID if withdrawn_on else Standing.ISSUED
    return replace(found, about_invoice=about, withdrawn_on=withdrawn_on, standing=standing)


def _parts(session: Session, paper: str, paper_id: int) -> tuple[CheckedPart, ...]:
    rows = list_paper_parts(session, paper, paper_id)
    return tuple(CheckedPart(row.place, row.sha256, row.first_page, row.last_page) for row in rows)
