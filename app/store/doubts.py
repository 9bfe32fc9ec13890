"""Records in doubt because an instrument failed: which doubts there are, what they concern, and what was decided."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, ForeignKey, Select, and_, func, not_, or_, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from app.rules.checks import Check
from app.rules.doubts import Doubt, list_doubts
from app.store.certificates import CertificateRow
from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.instruments import InstrumentRow
from app.store.items import ItemRow
from app.store.papers import PaperRow
from app.store.premises import LocationRow, PremisesRow
from app.store.readings import ReadingRow, RoundRow, VisitItemRow
from app.store.reference_checks import list_failing_ids, list_proofs_of
from app.store.visits import VisitRow


class DoubtAnswerRow(Base):
    """What was decided about the records of a doubt, for the failures, the span and the readings known then.

    failures are the keys of what had failed; until is the day of the decision where the doubt was open. A trigger
    refuses to change or remove it.
    """

    __tablename__ = "doubt_answers"

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(ForeignKey("instruments.id"), index=True)
    failures: Mapped[list[str]]
    since: Mapped[date | None]
    until: Mapped[date]
    last_reading_id: Mapped[int]
    decided: Mapped[str]
    person_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    person_name: Mapped[str]
    said_at: Mapped[datetime]
    said_on: Mapped[date]


@dataclass(frozen=True)
class InstrumentDoubt:
    """A doubt of an instrument with what was decided about it, oldest first, and how many readings it concerns.

    unanswered counts those that no decision knew of: while there are any, it is not dealt with.
    """

    instrument: InstrumentRow
    doubt: Doubt
    answers: tuple[DoubtAnswerRow, ...] = ()
    readings: int = 0
    unanswered: int = 0

    @property
    def address(self) -> str:
        return f"/instruments/{self.instrument.id}/doubts/{self.doubt.key}"


@dataclass(frozen=True)
class DoubtfulRecord:
    """One reading in doubt, with whose it is. found_first: it was measured before the item was put right."""

    visit_id: int
    customer: str
    premises: str
    tested_on: date | None
    visit_item_id: int
    item_id: int
    number: str
    description: str
    location: str
    reading: ReadingRow

    @property
    def check(self) -> Check:
        return Check(self.reading.check)

    @property
    def found_first(self) -> bool:
        return self.reading.round_id is not None


@dataclass(frozen=True)
class DoubtfulCustomer:
    """How much of a doubt concerns one customer."""

    customer_id: int
    customer: str
    visits: int
    items: int
    readings: int


_Question = Select[*tuple[Any, ...]]
#: The day on which a reading was tested: that of its first set, where the item was put right afterwards.
_DAY: ColumnElement[date] = func.coalesce(RoundRow.tested_on, VisitItemRow.tested_on)


def list_all_doubts(session: Session, instrument_ids: Iterable[int] | None = None) -> list[InstrumentDoubt]:
    """The doubts of all instruments, or of some, newest failure first, with their counts."""
    failing = list_failing_ids(session)
    chosen = failing if instrument_ids is None else sorted(set(failing) & set(instrument_ids))
    if not chosen:
        return []
    rows = list(session.scalars(select(InstrumentRow).where(InstrumentRow.id.in_(chosen))))
    proofs = list_proofs_of(session, rows)
    answers = list(
        session.scalars(
            select(DoubtAnswerRow).where(DoubtAnswerRow.instrument_id.in_(chosen)).order_by(DoubtAnswerRow.id)
        )
    )
    found = [
        InstrumentDoubt(row, doubt, tuple(each for each in answers if set(each.failures) & set(doubt.failures)))
        for row in rows
        for doubt in list_doubts(proofs[row.id])
    ]
    return sorted(_counted(session, found), key=lambda each: each.doubt.failed_on, reverse=True)


def list_open_doubts(session: Session) -> list[InstrumentDoubt]:
    """The doubts that concern records about which nothing is decided yet."""
    return [each for each in list_all_doubts(session) if each.unanswered]


def get_doubt(session: Session, instrument_id: int, key: str) -> InstrumentDoubt:
    """The doubt that a failure belongs to. Raises Missing."""
    found = (each for each in list_all_doubts(session, [instrument_id]) if key in each.doubt.failures)
    if (doubt := next(found, None)) is None:
        raise Missing("doubt")
    return doubt


def list_doubts_of_visit(session: Session, visit_id: int, item_id: int | None = None) -> list[InstrumentDoubt]:
    """The doubts that concern readings of a visit, or of one item of it."""
    own = [VisitItemRow.visit_id == visit_id]
    if item_id is not None:
        own.append(VisitItemRow.item_id == item_id)
    used = select(ReadingRow.instrument_id).join(VisitItemRow, ReadingRow.visit_item_id == VisitItemRow.id)
    used = used.where(*own, ReadingRow.instrument_id.is_not(None)).distinct()
    doubts = list_all_doubts(session, {each for each in session.scalars(used) if each is not None})
    if not doubts:
        return []
    counts = [_span(select(func.count(ReadingRow.id)), each).where(*own).scalar_subquery() for each in doubts]
    return [each for each, count in zip(doubts, session.execute(select(*counts)).one(), strict=True) if count]


def count_doubtful_by_check(session: Session, kept: InstrumentDoubt) -> dict[Check, int]:
    """How many readings of each check a doubt concerns."""
    query = _records(select(ReadingRow.check, func.count()), kept).group_by(ReadingRow.check)
    found = {Check(check): int(number) for check, number in session.execute(query)}
    return {check: found[check] for check in Check if check in found}


def list_doubtful_customers(session: Session, kept: InstrumentDoubt, check: Check | None) -> list[DoubtfulCustomer]:
    """What a doubt concerns, customer by customer; of one check alone where it is named."""
    query = _records(
        select(
            CustomerRow.id,
            CustomerRow.name,
            func.count(VisitItemRow.visit_id.distinct()),
            func.count(VisitItemRow.id.distinct()),
            func.count(ReadingRow.id),
        ),
        kept,
        check,
    )
    query = query.group_by(CustomerRow.id, CustomerRow.name).order_by(CustomerRow.name, CustomerRow.id)
    return [DoubtfulCustomer(*row) for row in session.execute(query)]


def list_doubtful_records(
    session: Session,
    kept: InstrumentDoubt,
    check: Check | None,
    customer_id: int | None = None,
    skip: int = 0,
    limit: int | None = None,
) -> list[DoubtfulRecord]:
    """The readings that a doubt concerns, by customer, visit and item, in one question."""
    columns = (VisitRow.id, CustomerRow.name, PremisesRow.name, _DAY, VisitItemRow.id, ItemRow.id, ItemRow.number,
               VisitItemRow.description, LocationRow.name, ReadingRow)  # fmt: skip
    query = _records(select(*columns), kept, check)
    query = query.join(ItemRow, VisitItemRow.item_id == ItemRow.id)
    query = query.join(LocationRow, VisitItemRow.location_id == LocationRow.id)
    if customer_id is not None:
        query = query.where(CustomerRow.id == customer_id)
    order = (CustomerRow.name, CustomerRow.id, VisitRow.booked_on, VisitRow.id, func.length(ItemRow.number),
             ItemRow.number, ReadingRow.position)  # fmt: skip
    query = query.order_by(*order).offset(skip).limit(limit)
    return [DoubtfulRecord(*row) for row in session.execute(query)]


def list_papers_of_records(
    session: Session, records: Sequence[DoubtfulRecord]
) -> tuple[dict[int, tuple[int, str]], dict[int, tuple[int, str]]]:
    """The certificate that stands for each visit, and the paper for each test of one item: (id, number) by id."""
    visits, tests = {each.visit_id for each in records}, {each.visit_item_id for each in records}
    certificate, paper = CertificateRow, PaperRow
    of_visits = select(certificate.visit_id, certificate.id, certificate.number).where(
        certificate.visit_id.in_(visits), certificate.state == "issued", ~certificate.void.has()
    )
    of_tests = select(paper.visit_item_id, paper.id, paper.number).where(
        paper.visit_item_id.in_(tests), paper.state == "issued", ~paper.void.has()
    )
    # A later one of the same stands in place of an earlier.
    found = {row[0]: (row[1], row[2]) for row in session.execute(of_visits.order_by(certificate.id))}
    tested = session.execute(of_tests.order_by(paper.id))
    return found, {row[0]: (row[1], row[2]) for row in tested if row[0] is not None}


def count_last_reading(session: Session, kept: InstrumentDoubt) -> int:
    """The highest id among the readings of an instrument: what is known when something is decided."""
    query = select(func.max(ReadingRow.id)).where(ReadingRow.instrument_id == kept.instrument.id)
    return session.scalar(query) or 0


def _counted(session: Session, found: Sequence[InstrumentDoubt]) -> list[InstrumentDoubt]:
    """The same with their counts, all by one question."""
    if not found:
        return []
    columns = []
    for each in found:
        columns.append(_span(select(func.count(ReadingRow.id)), each).scalar_subquery())
        new = _span(select(func.count(ReadingRow.id)), each).where(_not_known(each))
        columns.append(new.scalar_subquery())
    row = session.execute(select(*columns)).one()
    return [
        InstrumentDoubt(each.instrument, each.doubt, each.answers, row[2 * place], row[2 * place + 1])
        for place, each in enumerate(found)
    ]


def _not_known(kept: InstrumentDoubt) -> ColumnElement[bool]:
    """Whether a reading came after the newest decision, or lies outside the span that it was about."""
    if not kept.answers:
        return ReadingRow.id > 0
    newest = kept.answers[-1]
    return or_(ReadingRow.id > newest.last_reading_id, not_(_within(newest.since, newest.until)))


def _within(since: date | None, until: date | None) -> ColumnElement[bool]:
    """Whether a reading is of a span of days, by the day that is signed for it or by the moment of measuring.

    An item that is saved again for a correction takes a new day; what was measured before keeps its moment.
    """
    day, moment = [ReadingRow.id > 0], [ReadingRow.id > 0]
    if since is not None:
        day.append(since <= _DAY)
        moment.append(ReadingRow.recorded_at >= _midnight(since))
    if until is not None:
        day.append(until >= _DAY)
        moment.append(ReadingRow.recorded_at < _midnight(until + timedelta(days=1)))
    return or_(and_(*day), and_(*moment))


def _midnight(day: date) -> datetime:
    """The beginning of a day in UTC, which is near enough to that of the firm for work that is done by day."""
    return datetime(day.year, day.month, day.day, tzinfo=UTC)


def _span(query: _Question, kept: InstrumentDoubt) -> _Question:
    """A question about the readings of a doubt."""
    query = (
        query.select_from(ReadingRow)
        .join(VisitItemRow, ReadingRow.visit_item_id == VisitItemRow.id)
        .outerjoin(RoundRow, ReadingRow.round_id == RoundRow.id)
    )
    return query.where(ReadingRow.instrument_id == kept.instrument.id, _within(kept.doubt.since, kept.doubt.until))


def _records(
    query: Select[*tuple[Any, ...]], kept: InstrumentDoubt, check: Check | None = None
) -> Select[*tuple[Any, ...]]:
    """A question about the readings of a doubt, with their visits and customers; of one check where it is named."""
    query = (
        _span(query, kept)
        .join(VisitRow, VisitItemRow.visit_id == VisitRow.id)
        .join(CustomerRow, VisitRow.customer_id == CustomerRow.id)
        .join(PremisesRow, VisitRow.premises_id == PremisesRow.id)
    )
    return query if check is None else query.where(ReadingRow.check == check.value)
