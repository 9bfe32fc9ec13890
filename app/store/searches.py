"""The search index: for each thing that can be found, its words, kept up to date by every write.

The database itself finds words by their beginning: FTS5 in SQLite, a GIN index over tsvector in PostgreSQL; both stand
in the migration that makes the table. The words are brought to one form before (app/rules/searches.py), so that both
find alike.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import UniqueConstraint, delete, event, func, insert, select, text
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column

from app.rules.searches import Subject, list_code_words, list_search_words
from app.store.certificates import CertificateRow
from app.store.claims import ClaimRow
from app.store.credit_notes import CreditNoteRow
from app.store.customers import ContactRow, CustomerRow
from app.store.database import STRICT, Base
from app.store.instruments import InstrumentRow
from app.store.invoices import InvoiceRow
from app.store.items import ItemRow
from app.store.papers import PaperRow
from app.store.premises import PremisesRow
from app.store.quotes import QuoteRow
from app.store.visits import VisitRow

#: Rows written at once when the index is made anew.
BATCH = 2000


class SearchEntryRow(Base):
    """The words of one thing. code is its own number in one piece, for finding exactly that."""

    __tablename__ = "search_entries"
    __table_args__ = (UniqueConstraint("subject", "subject_id"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    subject: Mapped[str]
    subject_id: Mapped[int]
    code: Mapped[str] = mapped_column(index=True)
    words: Mapped[str]


@dataclass(frozen=True)
class Indexed:
    """What the index keeps of a row: its own number, other numbers, and plain words."""

    code: str
    codes: tuple[str, ...] = ()
    texts: tuple[str, ...] = ()

    @property
    def columns(self) -> dict[str, str]:
        words = dict.fromkeys((*list_code_words(self.code, *self.codes), *list_search_words(*self.texts)))
        return {"code": "".join(list_search_words(self.code)), "words": " ".join(words)}


def _customer(row: CustomerRow) -> Indexed:
    contacts = [each for contact in row.contacts for each in (contact.name, contact.email, contact.phone)]
    return Indexed("", (row.postcode,), (row.name, row.address, row.email, row.phone, *contacts))


def _premises(row: PremisesRow) -> Indexed:
    return Indexed("", (row.postcode,), (row.name, row.address))


def _item(row: ItemRow) -> Indexed:
    return Indexed(row.number, (row.serial, row.model, row.batch), (row.description, row.make))


def _visit(row: VisitRow) -> Indexed:
    day = row.booked_on
    return Indexed(f"visit {row.id}", (str(row.id), day.isoformat()), (f"{day.day} {day:%B %Y}",))


def _numbered(row: Any) -> Indexed:
    """A paper about money; a draft has no number yet, so it is not found."""
    code = ((row.data or {}).get("check") or {}).get("code", "")
    return Indexed(row.number or "", (code,))


INDEXED: dict[type[Base], tuple[Subject, Callable[[Any], Indexed]]] = {
    CustomerRow: (Subject.CUSTOMER, _customer),
    PremisesRow: (Subject.PREMISES, _premises),
    ItemRow: (Subject.ITEM, _item),
    VisitRow: (Subject.VISIT, _visit),
    CertificateRow: (Subject.CERTIFICATE, lambda row: Indexed(row.number or "", (row.code or "",))),
    PaperRow: (Subject.PAPER, lambda row: Indexed(row.number or "", (row.code or "",))),
    QuoteRow: (Subject.QUOTE, _numbered),
    InvoiceRow: (Subject.INVOICE, _numbered),
    CreditNoteRow: (Subject.CREDIT_NOTE, _numbered),
    ClaimRow: (Subject.CLAIM, _numbered),
    InstrumentRow: (Subject.INSTRUMENT, lambda row: Indexed(row.serial, (), (row.name, row.make, row.model))),
}
_WAITING = "rows whose words changed"


@event.listens_for(Session, "before_flush")
def _gather(session: Session, *_: object) -> None:
    """Remember what changed; ids and relations are there only when the transaction ends."""
    waiting = session.info.setdefault(_WAITING, {})
    for row in (*session.new, *session.dirty, *session.deleted):
        found = row.customer_id if isinstance(row, ContactRow) else row
        if isinstance(row, ContactRow) or type(row) in INDEXED:
            waiting[id(row)] = (found, row in session.deleted and not isinstance(row, ContactRow))


@event.listens_for(Session, "before_commit")
def _settle(session: Session) -> None:
    """Bring the index in line with what this transaction wrote, in the same transaction."""
    session.flush()
    changed: dict[tuple[Subject, int], dict[str, str] | None] = {}
    for found, gone in session.info.pop(_WAITING, {}).values():
        row = session.get(CustomerRow, found) if isinstance(found, int) else found
        if row is None:
            continue
        subject, words_of = INDEXED[type(row)]
        columns = None if gone else words_of(row).columns
        changed[subject, row.id] = columns if columns and columns["words"] else None
    for (subject, subject_id), columns in changed.items():
        if columns is None:
            session.execute(
                delete(SearchEntryRow).where(SearchEntryRow.subject == subject, SearchEntryRow.subject_id == subject_id)
            )
        else:
            _put(session, [{"subject": subject.value, "subject_id": subject_id} | columns])


@event.listens_for(Session, "after_rollback")
def _forget(session: Session) -> None:
    session.info.pop(_WAITING, None)


def _put(session: Session, entries: Sequence[dict[str, Any]]) -> None:
    """Add entries or change those there; one that says the same already is left alone."""
    dialect = postgresql if session.get_bind().dialect.name == "postgresql" else sqlite
    adding = dialect.insert(SearchEntryRow)
    new = adding.excluded
    session.execute(
        adding.on_conflict_do_update(
            index_elements=["subject", "subject_id"],
            set_={"code": new.code, "words": new.words},
            where=(SearchEntryRow.words != new.words) | (SearchEntryRow.code != new.code),
        ),
        entries,
    )


def count_entries(session: Session) -> int:
    """How many things can be found."""
    return session.scalar(select(func.count()).select_from(SearchEntryRow)) or 0


def change_whole_index(session: Session) -> None:
    """Make the index anew from every row: for a database that comes from before there was one."""
    session.execute(delete(SearchEntryRow))
    for table, (subject, words_of) in INDEXED.items():
        query = select(table).execution_options(yield_per=BATCH)
        for rows in session.scalars(query).partitions():
            entries = [(row.id, words_of(row).columns) for row in rows]  # type: ignore[attr-defined]
            told = [{"subject": subject.value, "subject_id": row_id} | columns for row_id, columns in entries]
            if kept := [each for each in told if each["words"]]:
                session.execute(insert(SearchEntryRow), kept)


def list_exact(session: Session, code: str, subjects: Iterable[Subject], limit: int) -> list[tuple[Subject, int]]:
    """List what has exactly this number, written in one piece and in small letters."""
    query = select(SearchEntryRow.subject, SearchEntryRow.subject_id).where(
        SearchEntryRow.code == code, SearchEntryRow.subject.in_([subject.value for subject in subjects])
    )
    rows = session.execute(query.order_by(SearchEntryRow.id.desc()).limit(limit)) if code else ()
    return [(Subject(subject), subject_id) for subject, subject_id in rows]


def list_beginning_with(session: Session, words: Sequence[str], subject: Subject, limit: int) -> list[int]:
    """List the ids of what has a word beginning with each of these words, the newest first."""
    if not words:
        return []
    if session.get_bind().dialect.name == "postgresql":
        holds = text("to_tsvector('simple', search_entries.words) @@ to_tsquery('simple', :terms)")
        terms = " & ".join(f"{word}:*" for word in words)
    else:
        # Looking for the subject inside the index too lets it stop at the limit, however many things begin alike.
        holds = text(
            "search_entries.id IN (SELECT rowid FROM search_index WHERE search_index MATCH :terms"
            " ORDER BY rowid DESC LIMIT :most)"
        ).bindparams(most=limit)
        quoted = [f'"{word}"*' for word in words]
        terms = f"subject : {subject} AND words : ({' AND '.join(quoted)})"
    query = (
        select(SearchEntryRow.subject_id)
        .where(SearchEntryRow.subject == subject.value, holds.bindparams(terms=terms))
        .order_by(SearchEntryRow.id.desc())
        .limit(limit)
    )
    return list(session.scalars(query))


def list_named(session: Session, subject: Subject, ids: Sequence[int]) -> list[Any]:
    """The rows behind what was found, in the order found, with what their lines in a list need."""
    table: Any = next(table for table, (each, _) in INDEXED.items() if each is subject)
    wanted: Any = {
        ItemRow: (joinedload(ItemRow.customer), joinedload(ItemRow.premises), joinedload(ItemRow.location)),
        PremisesRow: (joinedload(PremisesRow.customer),),
        VisitRow: (joinedload(VisitRow.customer), joinedload(VisitRow.premises)),
        CertificateRow: (joinedload(CertificateRow.customer),),
        PaperRow: (joinedload(PaperRow.customer), joinedload(PaperRow.premises), joinedload(PaperRow.item)),
        QuoteRow: (joinedload(QuoteRow.customer),),
        InvoiceRow: (joinedload(InvoiceRow.customer),),
        CreditNoteRow: (joinedload(CreditNoteRow.customer),),
        ClaimRow: (joinedload(ClaimRow.customer),),
    }.get(table, ())
    rows = session.scalars(select(table).where(table.id.in_(ids)).options(*wanted)).unique()
    by_id = {row.id: row for row in rows}
    return [by_id[each] for each in ids if each in by_id]
