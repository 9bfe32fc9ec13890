"""What the public check says of an issued paper: number, day, counts, hash and whether it still holds. No customer."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.rules.certificates import Standing
from app.store.certificates import CertificateRow, find_certificate_by_code, find_newest_revision
from app.store.paper_parts import list_paper_parts
from app.store.papers import PaperRow, find_newest_paper, find_paper_by_code


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


def find_checked_paper(session: Session, code: str) -> CheckedPaper | None:
    """The issued paper that carries a code."""
    row = find_certificate_by_code(session, code)
    if row is not None:
        return None if row.state != "issued" else _of_certificate(session, row)
    paper = find_paper_by_code(session, code)
    return None if paper is None or paper.state != "issued" else _of_paper(session, paper)


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


def _parts(session: Session, paper: str, paper_id: int) -> tuple[CheckedPart, ...]:
    rows = list_paper_parts(session, paper, paper_id)
    return tuple(CheckedPart(row.place, row.sha256, row.first_page, row.last_page) for row in rows)
