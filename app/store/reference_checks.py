"""Reference items of instruments, the checks against them, and how an instrument stands by all that is on record."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal

from sqlalchemy import ForeignKey, UniqueConstraint, false, func, or_, select, text
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.rules.checks import Check
from app.rules.doubts import Proof
from app.rules.instrument_standings import Standing
from app.rules.instruments import AsFound
from app.rules.quantities import Bound, Reading, Unit
from app.rules.reference_checks import Allowed, ReferenceDetails
from app.store.database import STRICT, Base, Missing
from app.store.instruments import CalibrationRow, InstrumentRow, find_calibrations


class ReferenceItemRow(Base):
    """Something of a known value that an instrument is checked against."""

    __tablename__ = "reference_items"
    __table_args__ = (UniqueConstraint("instrument_id", "name"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(ForeignKey("instruments.id"))
    name: Mapped[str]
    check: Mapped[str]
    nominal: Mapped[Decimal]
    unit: Mapped[str]
    tolerance: Mapped[Decimal]
    allowed: Mapped[str]
    every_days: Mapped[int]
    active: Mapped[bool] = mapped_column(default=True)
    version: Mapped[int] = mapped_column(default=1)
    instrument: Mapped[InstrumentRow] = relationship()

    __mapper_args__ = {"version_id_col": version}

    @property
    def details(self) -> ReferenceDetails:
        return ReferenceDetails(
            self.name,
            Check(self.check),
            self.nominal,
            Unit(self.unit),
            self.tolerance,
            Allowed(self.allowed),
            self.every_days,
            self.active,
        )


class ReferenceCheckRow(Base):
    """One check: what the instrument showed, and the band and working by which it was judged. Never changed; one that
    was entered wrongly is struck out, stays to be seen, and counts for nothing. after_failure: it passed after a check
    against the same item had failed, and the note says what the cause was.
    """

    __tablename__ = "reference_checks"

    id: Mapped[int] = mapped_column(primary_key=True)
    reference_item_id: Mapped[int] = mapped_column(ForeignKey("reference_items.id"), index=True)
    checked_on: Mapped[date]
    checked_at: Mapped[datetime]
    person_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    person_name: Mapped[str]
    value: Mapped[Decimal]
    unit: Mapped[str]
    bound: Mapped[str]
    nominal: Mapped[Decimal]
    low: Mapped[Decimal]
    high: Mapped[Decimal]
    margin: Mapped[Decimal | None]
    passed: Mapped[bool]
    working: Mapped[str]
    sentence: Mapped[str]
    note: Mapped[str] = mapped_column(default="")
    after_failure: Mapped[bool] = mapped_column(default=False, server_default=false())
    struck_at: Mapped[datetime | None]
    struck_by: Mapped[str] = mapped_column(default="", server_default=text("''"))
    struck_reason: Mapped[str] = mapped_column(default="", server_default=text("''"))
    item: Mapped[ReferenceItemRow] = relationship()

    @property
    def counts_until(self) -> date:
        """The last day for which this check counts, by the days that now stand at its reference item."""
        return self.checked_on + timedelta(days=self.item.every_days)

    @property
    def reading(self) -> Reading:
        return Reading(self.value, Unit(self.unit), Bound(self.bound))


def get_reference_item(session: Session, instrument_id: int, reference_id: int) -> ReferenceItemRow:
    """A reference item of this instrument. Raises Missing."""
    row = session.get(ReferenceItemRow, reference_id)
    if row is None or row.instrument_id != instrument_id:
        raise Missing("reference item")
    return row


def list_reference_items(session: Session, instrument_id: int) -> list[ReferenceItemRow]:
    """The reference items of an instrument, those in use first."""
    query = select(ReferenceItemRow).where(ReferenceItemRow.instrument_id == instrument_id)
    return list(session.scalars(query.order_by(ReferenceItemRow.active.desc(), ReferenceItemRow.id)))


def get_reference_check(session: Session, instrument_id: int, check_id: int) -> ReferenceCheckRow:
    """A check of this instrument. Raises Missing."""
    row = session.get(ReferenceCheckRow, check_id)
    if row is None or row.item.instrument_id != instrument_id:
        raise Missing("reference check")
    return row


def list_reference_checks(session: Session, reference_id: int, struck: bool = False) -> list[ReferenceCheckRow]:
    """The checks against one reference item that count, or those that were struck out, oldest first."""
    query = select(ReferenceCheckRow).where(
        ReferenceCheckRow.reference_item_id == reference_id, ReferenceCheckRow.struck_at.is_not(None) == struck
    )
    return list(session.scalars(query.order_by(ReferenceCheckRow.checked_at, ReferenceCheckRow.id)))


def list_newest_checks(session: Session, instrument_id: int) -> dict[int, ReferenceCheckRow]:
    """The newest check of each reference item of an instrument that has one, by the item's id."""
    return _list_newest(session, [instrument_id])


def _list_newest(session: Session, instrument_ids: Sequence[int]) -> dict[int, ReferenceCheckRow]:
    newest = (
        select(func.max(ReferenceCheckRow.id))
        .join(ReferenceCheckRow.item)
        .where(ReferenceItemRow.instrument_id.in_(instrument_ids), ReferenceCheckRow.struck_at.is_(None))
        .group_by(ReferenceCheckRow.reference_item_id)
    )
    rows = session.scalars(select(ReferenceCheckRow).where(ReferenceCheckRow.id.in_(newest)))
    return {row.reference_item_id: row for row in rows}


def list_proofs_of(session: Session, instruments: Sequence[InstrumentRow]) -> dict[int, list[Proof]]:
    """Every calibration and every reference check of instruments that counts, by their ids and in order of time, in as
    many questions as for one.

    A calibration that found the instrument outside tolerance and left it within it is a failure and then a good proof.
    """
    find_calibrations(session, instruments)
    proofs: dict[int, list[Proof]] = {row.id: [] for row in instruments}
    for instrument in instruments:
        for row in reversed(instrument.calibrations):
            key = f"calibration-{row.id}"
            if row.passed and row.as_found == AsFound.OUTSIDE:
                proofs[instrument.id].append(Proof(row.calibrated_on, False, key=key))
            proofs[instrument.id].append(Proof(row.calibrated_on, row.passed, key=key))
    item, check = ReferenceItemRow, ReferenceCheckRow
    query = (
        select(item.instrument_id, check.checked_on, check.passed, item.name, check.id, item.check)
        .join(check.item)
        .where(item.instrument_id.in_(proofs), check.struck_at.is_(None))
        .order_by(check.checked_at, check.id)
    )
    for instrument_id, on, passed, name, check_id, function in session.execute(query):
        proofs[instrument_id].append(Proof(on, passed, name, f"check-{check_id}", Check(function)))
    return proofs


def list_failing_ids(session: Session) -> list[int]:
    """The instruments that have failed something: a calibration, as found or as left, or a reference check."""
    calibrations = select(CalibrationRow.instrument_id).where(
        CalibrationRow.struck_at.is_(None),
        or_(CalibrationRow.passed.is_(False), CalibrationRow.as_found == AsFound.OUTSIDE.value),
    )
    checks = (
        select(ReferenceItemRow.instrument_id)
        .join(ReferenceCheckRow, ReferenceCheckRow.reference_item_id == ReferenceItemRow.id)
        .where(ReferenceCheckRow.struck_at.is_(None), ReferenceCheckRow.passed.is_(False))
    )
    return sorted(session.scalars(calibrations.union(checks)))


def facts_of_standing(session: Session, instrument: InstrumentRow) -> Standing:
    """How an instrument stands, for the rules: its newest calibration and the newest check of each reference item."""
    return facts_of_standings(session, [instrument])[instrument.id]


def facts_of_standings(session: Session, instruments: Sequence[InstrumentRow]) -> dict[int, Standing]:
    """How each of several instruments stands, by its id, in as many questions as for one."""
    ids = [row.id for row in instruments]
    find_calibrations(session, instruments)
    own = select(ReferenceItemRow).where(ReferenceItemRow.instrument_id.in_(ids))
    items: dict[int, list[ReferenceItemRow]] = {instrument_id: [] for instrument_id in ids}
    for item in session.scalars(own.order_by(ReferenceItemRow.active.desc(), ReferenceItemRow.id)):
        items[item.instrument_id].append(item)
    checks = _list_newest(session, ids)
    return {row.id: _standing(row, items[row.id], checks) for row in instruments}


def _standing(
    instrument: InstrumentRow, items: Sequence[ReferenceItemRow], checks: Mapping[int, ReferenceCheckRow]
) -> Standing:
    newest = instrument.calibrations[0] if instrument.calibrations else None
    good = max((row.calibrated_on for row in instrument.calibrations if row.passed), default=date.min)
    failed, until = [], []
    for row in items:
        check = checks.get(row.id)
        # A calibration of the same day may have been made before the check: only a later one puts it right.
        if check is not None and not check.passed and good <= check.checked_on:
            failed.append((row.name, check.checked_on))
        elif row.active:
            until.append((row.name, check.counts_until if check is not None else None))
    return Standing(
        instrument.id,
        instrument.name,
        instrument.good_until,
        newest.calibrated_on if newest is not None and not newest.passed else None,
        tuple(failed),
        tuple(until),
    )
