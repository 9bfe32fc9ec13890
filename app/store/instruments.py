"""Instruments, their calibrations with the certificates as files, and their ranges."""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import ForeignKey, LargeBinary, inspect, select, text, true
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship, selectinload

from app.rules.checks import Check
from app.rules.instruments import AsFound, InstrumentDetails
from app.rules.quantities import Unit
from app.rules.uncertainties import MeasuringRange
from app.store.database import Base, Missing


class InstrumentRow(Base):
    __tablename__ = "instruments"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    serial: Mapped[str] = mapped_column(unique=True)
    make: Mapped[str]
    model: Mapped[str]
    notes: Mapped[str]
    active: Mapped[bool] = mapped_column(default=True)
    version: Mapped[int] = mapped_column(default=1)
    ranges: Mapped[list["RangeRow"]] = relationship(
        order_by="RangeRow.check, RangeRow.most", cascade="all, delete-orphan"
    )
    #: Newest first; those that the owner has struck out count for nothing and stand only in the second list.
    calibrations: Mapped[list["CalibrationRow"]] = relationship(
        primaryjoin="and_(InstrumentRow.id == CalibrationRow.instrument_id, CalibrationRow.struck_at.is_(None))",
        order_by="CalibrationRow.calibrated_on.desc(), CalibrationRow.id.desc()",
        viewonly=True,
    )
    all_calibrations: Mapped[list["CalibrationRow"]] = relationship(
        order_by="CalibrationRow.calibrated_on.desc(), CalibrationRow.id.desc()", viewonly=True
    )

    __mapper_args__ = {"version_id_col": version}

    @property
    def details(self) -> InstrumentDetails:
        return InstrumentDetails(**{name: getattr(self, name) for name in InstrumentDetails.__dataclass_fields__})

    @property
    def good_until(self) -> date | None:
        newest = self.calibrations[0] if self.calibrations else None
        return newest.good_until if newest is not None and newest.passed else None

    def calibration_on(self, day: date) -> "CalibrationRow | None":
        """The last good calibration made on or before a day: what was measured that day rests on it."""
        return next((row for row in self.calibrations if row.passed and row.calibrated_on <= day), None)

    def failure_on(self, day: date) -> "CalibrationRow | None":
        """The newest calibration made on or before a day, where the instrument failed it."""
        newest = next((row for row in self.calibrations if row.calibrated_on <= day), None)
        return newest if newest is not None and not newest.passed else None


class CalibrationRow(Base):
    __tablename__ = "calibrations"

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(ForeignKey("instruments.id"), index=True)
    calibrated_on: Mapped[date]
    good_until: Mapped[date]
    certificate_number: Mapped[str]
    laboratory: Mapped[str]
    passed: Mapped[bool] = mapped_column(default=True, server_default=true())
    as_found: Mapped[str] = mapped_column(default="", server_default=text("''"))
    struck_at: Mapped[datetime | None]
    struck_by: Mapped[str] = mapped_column(default="", server_default=text("''"))
    struck_reason: Mapped[str] = mapped_column(default="", server_default=text("''"))
    file: Mapped["CalibrationFileRow | None"] = relationship()

    @property
    def result(self) -> str:
        """What it says of the instrument, in words; a failed one of before it was told apart was failed as found."""
        if not self.passed:
            return "out of tolerance, not put right" if self.as_found else "failed as found"
        if self.as_found == AsFound.OUTSIDE:
            return "outside as found, put right"
        return "within as found" if self.as_found else ""


class CalibrationFileRow(Base):
    """The certificate of a calibration as a file: a PDF as it came, or a picture encoded anew."""

    __tablename__ = "calibration_files"

    calibration_id: Mapped[int] = mapped_column(ForeignKey("calibrations.id"), primary_key=True)
    media_type: Mapped[str]
    size_bytes: Mapped[int]
    added_at: Mapped[datetime]
    content: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)


class RangeRow(Base):
    """One function and range of an instrument, with its uncertainty: percent of the reading plus digits."""

    __tablename__ = "instrument_ranges"

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(ForeignKey("instruments.id"), index=True)
    check: Mapped[str]
    unit: Mapped[str]
    least: Mapped[Decimal]
    most: Mapped[Decimal]
    percent: Mapped[Decimal]
    digits: Mapped[Decimal]
    resolution: Mapped[Decimal]
    absolute: Mapped[Decimal] = mapped_column(default=Decimal(0), server_default="0")
    coverage: Mapped[Decimal] = mapped_column(default=Decimal(2), server_default="2")

    @property
    def as_range(self) -> MeasuringRange:
        sizes = (self.least, self.most, self.percent, self.digits, self.resolution, self.absolute, self.coverage)
        return MeasuringRange(Check(self.check), Unit(self.unit), *sizes)


def get_instrument(session: Session, instrument_id: int) -> InstrumentRow:
    """Raises Missing."""
    row = session.get(InstrumentRow, instrument_id)
    if row is None:
        raise Missing("instrument")
    return row


def find_calibrations(session: Session, instruments: Iterable[InstrumentRow]) -> None:
    """Fetch the calibrations of several instruments at once, where they are not at hand yet."""
    wanted = [row.id for row in instruments if "calibrations" in inspect(row).unloaded]
    if not wanted:
        return
    query = select(InstrumentRow).where(InstrumentRow.id.in_(wanted))
    session.scalars(query.options(selectinload(InstrumentRow.calibrations))).all()


def get_calibration(session: Session, instrument_id: int, calibration_id: int) -> CalibrationRow:
    """A calibration of this instrument. Raises Missing."""
    row = session.get(CalibrationRow, calibration_id)
    if row is None or row.instrument_id != instrument_id:
        raise Missing("calibration")
    return row


def get_range(session: Session, instrument_id: int, range_id: int) -> RangeRow:
    """A range of this instrument. Raises Missing."""
    row = session.get(RangeRow, range_id)
    if row is None or row.instrument_id != instrument_id:
        raise Missing("range")
    return row


def list_instruments(session: Session) -> list[InstrumentRow]:
    return list(session.scalars(select(InstrumentRow).order_by(InstrumentRow.active.desc(), InstrumentRow.name)))
