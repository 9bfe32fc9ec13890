"""What booking proposals rest on: when people work, days off, when premises can be entered, typed travel times, the
firm's booking rules. Where a row is missing, usual values hold.
"""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from sqlalchemy import ForeignKey, UniqueConstraint, delete, or_, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.rules.bank_holidays import Region
from app.rules.people import Role
from app.rules.travel import BASE, Pace, Point
from app.rules.working_times import AccessTimes, BookingRules, DayOff, Skill, WorkingTimes, convert_week
from app.store.database import STRICT, Base, Missing
from app.store.people import PersonRow
from app.store.premises import PremisesRow


class WorkingTimesRow(Base):
    """When somebody works. hours: by the number of the weekday, "08:30-17:00"."""

    __tablename__ = "working_times"

    person_id: Mapped[int] = mapped_column(ForeignKey("people.id"), primary_key=True)
    hours: Mapped[dict[str, str]]
    skills: Mapped[list[str]]
    week_hours_most: Mapped[int | None]
    instrument_id: Mapped[int | None] = mapped_column(ForeignKey("instruments.id"))
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}

    @property
    def facts(self) -> WorkingTimes:
        skills = frozenset(Skill(word) for word in self.skills)
        return WorkingTimes(convert_week(self.hours), skills, self.week_hours_most, self.instrument_id)


class DayOffRow(Base):
    """Days off of a person, or of the whole firm where there is no person."""

    __tablename__ = "days_off"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"), index=True)
    first_on: Mapped[date]
    last_on: Mapped[date] = mapped_column(index=True)
    reason: Mapped[str]
    person: Mapped[PersonRow | None] = relationship()

    @property
    def facts(self) -> DayOff:
        return DayOff(self.person_id, self.first_on, self.last_on, self.reason)


class AccessTimesRow(Base):
    """When premises can be entered, and where they are. hours: as in working times; None for any time."""

    __tablename__ = "access_times"

    premises_id: Mapped[int] = mapped_column(ForeignKey("premises.id"), primary_key=True)
    hours: Mapped[dict[str, str] | None]
    latitude: Mapped[Decimal | None]
    longitude: Mapped[Decimal | None]
    region: Mapped[str]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}

    @property
    def facts(self) -> AccessTimes:
        return AccessTimes(
            None if self.hours is None else convert_week(self.hours),
            _point(self.latitude, self.longitude),
            Region(self.region) if self.region else None,
        )


class TravelTimeRow(Base):
    """A time that the firm typed between two premises, the lower id first; other_id None: the firm's own place."""

    __tablename__ = "travel_times"
    __table_args__ = (UniqueConstraint("premises_id", "other_id"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    premises_id: Mapped[int] = mapped_column(ForeignKey("premises.id"), index=True)
    other_id: Mapped[int | None] = mapped_column(ForeignKey("premises.id"), index=True)
    minutes: Mapped[int]
    premises: Mapped[PremisesRow] = relationship(foreign_keys=[premises_id])
    other: Mapped[PremisesRow | None] = relationship(foreign_keys=[other_id])


class BookingRulesRow(Base):
    """The firm's booking rules, one row."""

    __tablename__ = "booking_rules"

    id: Mapped[int] = mapped_column(primary_key=True)
    latitude: Mapped[Decimal | None]
    longitude: Mapped[Decimal | None]
    road_factor: Mapped[Decimal]
    speed_mph: Mapped[int]
    unknown_minutes: Mapped[int]
    region: Mapped[str]
    hours: Mapped[dict[str, str]]
    free_percent: Mapped[int]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}

    @property
    def facts(self) -> BookingRules:
        return BookingRules(
            _point(self.latitude, self.longitude),
            Pace(self.road_factor, self.speed_mph, self.unknown_minutes),
            Region(self.region),
            convert_week(self.hours),
            self.free_percent,
        )


def find_booking_rules(session: Session) -> BookingRulesRow | None:
    return session.get(BookingRulesRow, 1)


def facts_of_booking_rules(session: Session) -> BookingRules:
    """The firm's booking rules, or what is assumed before it has chosen any."""
    row = find_booking_rules(session)
    return row.facts if row is not None else BookingRules()


def find_working_times(session: Session, person_id: int) -> WorkingTimesRow | None:
    return session.get(WorkingTimesRow, person_id)


def facts_of_working_times(
    session: Session, people: Iterable[PersonRow], rules: BookingRules
) -> dict[int, WorkingTimes]:
    """When each of some people works. Where nothing is typed, a technician works the firm's usual week and can test
    everything; an owner is not sent.
    """
    rows = {row.person_id: row.facts for row in session.scalars(select(WorkingTimesRow))}
    nobody = WorkingTimes(week=(None,) * 7)
    usual = WorkingTimes(week=rules.week)
    return {row.id: rows.get(row.id, usual if row.role == Role.TECHNICIAN else nobody) for row in people}


def get_day_off(session: Session, day_off_id: int) -> DayOffRow:
    """Raises Missing."""
    row = session.get(DayOffRow, day_off_id)
    if row is None:
        raise Missing("day off")
    return row


def list_days_off(session: Session, since: date, person_id: int | None = None) -> list[DayOffRow]:
    """Days off that are not over, of one person or of the whole firm where none is named, the soonest first."""
    query = select(DayOffRow).where(DayOffRow.last_on >= since, DayOffRow.person_id.is_not_distinct_from(person_id))
    return list(session.scalars(query.order_by(DayOffRow.first_on, DayOffRow.id)))


def facts_of_days_off(session: Session, since: date, until: date) -> list[DayOff]:
    """Days off of everybody that touch a span of days."""
    query = select(DayOffRow).where(DayOffRow.last_on >= since, DayOffRow.first_on <= until).order_by(DayOffRow.id)
    return [row.facts for row in session.scalars(query)]


def find_access_times(session: Session, premises_id: int) -> AccessTimesRow | None:
    return session.get(AccessTimesRow, premises_id)


def facts_of_access_times(session: Session, premises_ids: Iterable[int]) -> dict[int, AccessTimes]:
    """When some premises can be entered; those of which nothing is typed are left out."""
    query = select(AccessTimesRow).where(AccessTimesRow.premises_id.in_(list(premises_ids)))
    return {row.premises_id: row.facts for row in session.scalars(query)}


def get_travel_time(session: Session, premises_id: int, travel_time_id: int) -> TravelTimeRow:
    """A typed time from or to these premises. Raises Missing."""
    row = session.get(TravelTimeRow, travel_time_id)
    if row is None or premises_id not in (row.premises_id, row.other_id):
        raise Missing("travel time")
    return row


def find_travel_time(session: Session, premises_id: int, other_id: int | None) -> TravelTimeRow | None:
    """The typed time between two premises, whichever is named first; other_id None: from the firm."""
    low, high = (premises_id, None) if other_id is None else sorted((premises_id, other_id))
    query = select(TravelTimeRow).where(
        TravelTimeRow.premises_id == low, TravelTimeRow.other_id.is_not_distinct_from(high)
    )
    return session.scalar(query)


def list_travel_times(session: Session, premises_id: int) -> list[TravelTimeRow]:
    """The typed times from and to these premises."""
    here = or_(TravelTimeRow.premises_id == premises_id, TravelTimeRow.other_id == premises_id)
    return list(session.scalars(select(TravelTimeRow).where(here).order_by(TravelTimeRow.id)))


def facts_of_travel_times(session: Session, premises_ids: Iterable[int]) -> dict[tuple[int, int], int]:
    """The typed minutes between some premises; the firm's own place is BASE."""
    query = select(TravelTimeRow).where(TravelTimeRow.premises_id.in_(list(premises_ids)))
    return {(row.premises_id, row.other_id or BASE): row.minutes for row in session.scalars(query)}


def remove_travel_time(session: Session, row: TravelTimeRow) -> None:
    session.execute(delete(TravelTimeRow).where(TravelTimeRow.id == row.id))


def remove_day_off(session: Session, row: DayOffRow) -> None:
    session.execute(delete(DayOffRow).where(DayOffRow.id == row.id))


def _point(latitude: Decimal | None, longitude: Decimal | None) -> Point | None:
    return Point(latitude, longitude) if latitude is not None and longitude is not None else None
