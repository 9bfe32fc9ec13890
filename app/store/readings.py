"""The items on a visit, and what was recorded and judged for each: with limit, working, source and edition."""

from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import ForeignKey, UniqueConstraint, false, func, or_, select, true
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column, object_session, relationship

from app.rules.advice import Advice, parse_advice
from app.rules.checks import Check
from app.rules.decisions import DecisionRule
from app.rules.fault_words import describe_beside
from app.rules.items import ItemState
from app.rules.judging import Judging, MeasuredBefore
from app.rules.quantities import Bound, Reading, Unit, convert_number
from app.rules.verdicts import FAILED, Outcome
from app.rules.visits import Progress
from app.store.database import STRICT, Base, Missing
from app.store.equipment_types import FactsColumns
from app.store.instruments import get_instrument
from app.store.items import DefectRow, ItemRow
from app.store.people import PersonRow
from app.store.premises import LocationRow
from app.store.visits import VisitRow, facts_for_judging


class VisitItemRow(FactsColumns, Base):
    """One item on one visit. The facts are those it was judged by, whatever the register says later."""

    __tablename__ = "visit_items"
    __table_args__ = (UniqueConstraint("visit_id", "item_id"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    visit_id: Mapped[int] = mapped_column(ForeignKey("visits.id"))
    item_id: Mapped[int] = mapped_column(ForeignKey("items.id"), index=True)
    location_id: Mapped[int] = mapped_column(ForeignKey("locations.id"))
    description: Mapped[str]
    own_checks: Mapped[list[str] | None]
    after_repair: Mapped[bool] = mapped_column(default=False, server_default=false())
    verdict: Mapped[str | None]
    #: As list_kept_advice writes it; mere texts in rows from before the weight of each was kept.
    advice: Mapped[list[dict[str, str]]] = mapped_column(default=list)
    missing: Mapped[list[str]] = mapped_column(default=list)
    rulebook_id: Mapped[str] = mapped_column(default="")
    rulebook_version: Mapped[str] = mapped_column(default="")
    not_tested: Mapped[str] = mapped_column(default="")
    not_tested_note: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
    tested_at: Mapped[datetime | None]
    tested_on: Mapped[date | None]
    tested_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    next_due_on: Mapped[date | None]
    version: Mapped[int] = mapped_column(default=1)
    visit: Mapped[VisitRow] = relationship()
    item: Mapped[ItemRow] = relationship()
    location: Mapped[LocationRow] = relationship()
    tested_by: Mapped[PersonRow | None] = relationship()
    readings: Mapped[list["ReadingRow"]] = relationship(
        primaryjoin="and_(VisitItemRow.id == ReadingRow.visit_item_id, ReadingRow.round_id.is_(None))",
        order_by="ReadingRow.position",
        cascade="all, delete-orphan",
    )
    defects: Mapped[list[DefectRow]] = relationship(
        primaryjoin="and_(VisitItemRow.id == DefectRow.visit_item_id, DefectRow.round_id.is_(None))",
        order_by=DefectRow.id,
    )
    rounds: Mapped[list["RoundRow"]] = relationship(order_by="RoundRow.position")

    __mapper_args__ = {"version_id_col": version}

    @property
    def told_advice(self) -> tuple[Advice, ...]:
        """What was advised beside the readings."""
        return parse_advice(self.advice)

    @property
    def done(self) -> bool:
        return bool(self.not_tested) or self.verdict in ("pass", "fail")


class RoundRow(FactsColumns, Base):
    """What an item of a visit was found to be before it was put right on the spot, and what put it right.

    The readings and defects of that first set carry its id; those without one are of the newest set.
    """

    __tablename__ = "rounds"
    __table_args__ = (UniqueConstraint("visit_item_id", "position"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    visit_item_id: Mapped[int] = mapped_column(ForeignKey("visit_items.id"))
    position: Mapped[int]
    own_checks: Mapped[list[str] | None]
    after_repair: Mapped[bool]
    verdict: Mapped[str]
    advice: Mapped[list[dict[str, str]]]
    missing: Mapped[list[str]]
    note: Mapped[str]
    tested_at: Mapped[datetime | None]
    tested_on: Mapped[date | None]
    tested_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    change: Mapped[str]
    put_right: Mapped[str]
    put_right_at: Mapped[datetime]
    put_right_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    tested_by: Mapped[PersonRow | None] = relationship(foreign_keys=[tested_by_id])
    put_right_by: Mapped[PersonRow] = relationship(foreign_keys=[put_right_by_id])
    readings: Mapped[list["ReadingRow"]] = relationship(order_by="ReadingRow.position", viewonly=True)
    defects: Mapped[list[DefectRow]] = relationship(order_by=DefectRow.id, viewonly=True)


class ReadingRow(Base):
    """What was recorded for one check, and how it was judged."""

    __tablename__ = "readings"
    __table_args__ = (UniqueConstraint("visit_item_id", "position"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    visit_item_id: Mapped[int] = mapped_column(ForeignKey("visit_items.id"))
    round_id: Mapped[int | None] = mapped_column(ForeignKey("rounds.id"), index=True)
    position: Mapped[int]
    check: Mapped[str]
    point: Mapped[str] = mapped_column(default="")
    multiple: Mapped[Decimal | None]
    phase_deg: Mapped[int | None]
    given: Mapped[str] = mapped_column(default="")
    value: Mapped[Decimal | None]
    unit: Mapped[str] = mapped_column(default="")
    bound: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
    lead_ohms: Mapped[Decimal | None]
    conductor_c: Mapped[Decimal | None]
    steady: Mapped[bool] = mapped_column(default=True, server_default=true())
    outcome: Mapped[str]
    at_most: Mapped[Decimal | None]
    at_least: Mapped[Decimal | None]
    limit_unit: Mapped[str] = mapped_column(default="")
    limit_text: Mapped[str] = mapped_column(default="")
    working: Mapped[str] = mapped_column(default="")
    source: Mapped[str] = mapped_column(default="")
    margin: Mapped[Decimal | None]
    uncertainty: Mapped[Decimal | None]
    sentence: Mapped[str] = mapped_column(default="")
    instrument_id: Mapped[int | None] = mapped_column(ForeignKey("instruments.id"), index=True)
    recorded_at: Mapped[datetime]

    @property
    def beside(self) -> str:
        """The sentence as it stands beside the name of the check, with what was noted of a number."""
        said = describe_beside(Check(self.check), self.sentence)
        noted = self.note.rstrip(".") if self.value is not None else ""
        return f"{said} {noted[0].upper()}{noted[1:]}." if noted else said

    @property
    def brief(self) -> str:
        """The reading alone with where it was taken: "outlet 2: 0.12 Ω"; nothing where none was measured."""
        if not self.measured:
            return ""
        phase = f" at {self.phase_deg}°" if self.phase_deg is not None else ""
        point = f"{self.point}: " if self.point else ""
        return f"{point}{self.measured}{phase}"

    @property
    def measured(self) -> str:
        """The reading as it was judged, with its unit: "> 20 MΩ"; nothing where none was measured."""
        return Reading(self.net, Unit(self.unit), Bound(self.bound)).text if self.net is not None else ""

    @property
    def is_plain_pass(self) -> bool:
        """Whether its outcome says everything: seen and right, without a number."""
        return self.value is None and self.outcome == Outcome.PASS and self.check != Check.RCD_TRIP_TIME

    @property
    def net(self) -> Decimal | None:
        """The value as it was judged, in the reading's unit: without the test lead."""
        if self.value is None or self.lead_ohms is None:
            return self.value
        return self.value - convert_number(self.lead_ohms, Unit.OHM, Unit(self.unit))


def get_visit_item(session: Session, visit_id: int, item_id: int) -> VisitItemRow:
    """The row of an item on a visit. Raises Missing."""
    row = find_visit_item(session, visit_id, item_id)
    if row is None:
        raise Missing("item on this visit")
    return row


def find_visit_item(session: Session, visit_id: int, item_id: int) -> VisitItemRow | None:
    return session.scalar(
        select(VisitItemRow).where(VisitItemRow.visit_id == visit_id, VisitItemRow.item_id == item_id)
    )


def facts_for_judging_item(row: VisitItemRow, own_checks: list[str] | None, after_repair: bool) -> Judging:
    """What one item of a visit is judged by: as the visit, with the item's own sequence or the one after a repair."""
    own = tuple(Check(name) for name in own_checks) if own_checks is not None else None
    again = list_checks_to_repeat(row)
    judging = replace(facts_for_judging(row.visit), own=own, again=again, after_repair=after_repair)
    # Only a guard band asks how sure a reading is.
    return judging if judging.rule is DecisionRule.SIMPLE else replace(judging, before=_list_measured_before(row))


def _list_measured_before(row: VisitItemRow) -> tuple[MeasuredBefore, ...]:
    """The readings of an item that were measured before another instrument was taken at the visit."""
    session = object_session(row.visit)
    others = [each for each in row.readings if each.instrument_id not in (None, row.visit.instrument_id)]
    if session is None or not others:
        return ()
    ids = {each.instrument_id for each in others if each.instrument_id is not None}
    ranges = {each: tuple(own.as_range for own in get_instrument(session, each).ranges) for each in ids}
    return tuple(
        MeasuredBefore(
            Check(each.check), each.point, each.multiple, each.phase_deg,
            Reading(each.value, Unit(each.unit), Bound(each.bound)), ranges[each.instrument_id],
        )
        for each in others
        if each.value is not None and each.instrument_id is not None
    )  # fmt: skip


def list_checks_to_repeat(row: VisitItemRow) -> tuple[Check, ...]:
    """The checks that an item failed before what is recorded in this row, while that defect is open."""
    session = object_session(row.visit)
    return () if session is None else list_failed_checks(session, row.item, row.id, row.tested_at)


def list_failed_checks(
    session: Session, item: ItemRow, visit_item_id: int | None = None, before: datetime | None = None
) -> tuple[Check, ...]:
    """The checks that an item failed and has not passed since; without those of one of its rows, or found later."""
    if item.state != ItemState.OUT_OF_USE:
        return ()
    failed = (
        select(ReadingRow.check)
        .join(DefectRow, DefectRow.visit_item_id == ReadingRow.visit_item_id)
        .where(
            DefectRow.item_id == item.id,
            DefectRow.closed_on.is_(None),
            ReadingRow.outcome.in_([each.value for each in FAILED]),
            or_(ReadingRow.visit_item_id != visit_item_id, ReadingRow.round_id.is_not(None)),
        )
        .distinct()
    )
    if before is not None:
        failed = failed.where(DefectRow.found_at <= before)
    found = set(session.scalars(failed))
    return tuple(check for check in Check if check in found)


def list_visit_items(session: Session, visit_id: int) -> list[VisitItemRow]:
    """The items on a visit by location, with their items and locations."""
    return list(
        session.scalars(
            select(VisitItemRow)
            .join(VisitItemRow.item)
            .join(LocationRow, VisitItemRow.location_id == LocationRow.id)
            .where(VisitItemRow.visit_id == visit_id)
            .order_by(LocationRow.position, LocationRow.name, func.length(ItemRow.number), ItemRow.number)
            .options(joinedload(VisitItemRow.item), joinedload(VisitItemRow.location))
        )
    )


def list_item_history(session: Session, item_id: int) -> list[VisitItemRow]:
    """What was recorded for an item at each visit, newest first."""
    return list(
        session.scalars(
            select(VisitItemRow)
            .join(VisitItemRow.visit)
            .where(VisitItemRow.item_id == item_id, VisitItemRow.tested_at.is_not(None))
            .order_by(VisitRow.booked_on.desc(), VisitItemRow.id.desc())
            .options(joinedload(VisitItemRow.visit))
        )
    )


def count_progress(session: Session, visit_id: int) -> Progress:
    """How many items of a visit are in which state."""
    return count_progress_of(session, [visit_id])[visit_id]


def count_progress_of(session: Session, visit_ids: list[int]) -> dict[int, Progress]:
    """The progress of several visits in one question."""
    query = (
        select(VisitItemRow.visit_id, VisitItemRow.verdict, VisitItemRow.not_tested, func.count())
        .where(VisitItemRow.visit_id.in_(visit_ids))
        .group_by(VisitItemRow.visit_id, VisitItemRow.verdict, VisitItemRow.not_tested)
    )
    counts: dict[int, dict[str, int]] = {visit_id: {} for visit_id in visit_ids}
    for visit_id, verdict, not_tested, number in session.execute(query):
        word = "not_tested" if not_tested else verdict or "open"
        counts[visit_id][word] = counts[visit_id].get(word, 0) + number
    return {
        visit_id: Progress(
            items=sum(found.values()),
            passed=found.get("pass", 0),
            failed=found.get("fail", 0),
            not_tested=found.get("not_tested", 0),
            incomplete=found.get("incomplete", 0),
            undecided=found.get("decision", 0),
        )
        for visit_id, found in counts.items()
    }
