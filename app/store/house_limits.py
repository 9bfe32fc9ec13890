"""House limits: stricter than the rulebook, dated, with their reason; ended, never removed."""

from datetime import date
from decimal import Decimal

from sqlalchemy import ForeignKey, or_, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.rules.checks import Check
from app.rules.equipment import Construction
from app.rules.house_limits import HouseLimitDetails
from app.store.customers import CustomerRow
from app.store.database import Base, Missing


class HouseLimitRow(Base):
    __tablename__ = "house_limits"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int | None] = mapped_column(ForeignKey("customers.id"), index=True)
    check: Mapped[str]
    construction: Mapped[str | None]
    value: Mapped[Decimal]
    reason: Mapped[str]
    valid_from: Mapped[date]
    ended_on: Mapped[date | None]
    customer: Mapped[CustomerRow | None] = relationship()

    @property
    def details(self) -> HouseLimitDetails:
        construction = Construction(self.construction) if self.construction else None
        return HouseLimitDetails(
            Check(self.check), self.value, self.reason, self.valid_from, self.customer_id, construction
        )


def get_house_limit(session: Session, house_limit_id: int) -> HouseLimitRow:
    """Raises Missing."""
    row = session.get(HouseLimitRow, house_limit_id)
    if row is None:
        raise Missing("house limit")
    return row


def list_house_limits(session: Session) -> list[HouseLimitRow]:
    """Every house limit, those that hold first."""
    order = (HouseLimitRow.ended_on.is_not(None), HouseLimitRow.check, HouseLimitRow.id)
    return list(session.scalars(select(HouseLimitRow).order_by(*order)))


def list_house_limits_for(session: Session, customer_id: int, day: date) -> list[HouseLimitRow]:
    """The limits that hold for a customer on a day: the firm's own for everybody, and the customer's."""
    query = select(HouseLimitRow).where(
        HouseLimitRow.valid_from <= day,
        or_(HouseLimitRow.ended_on.is_(None), HouseLimitRow.ended_on > day),
        or_(HouseLimitRow.customer_id.is_(None), HouseLimitRow.customer_id == customer_id),
    )
    return list(session.scalars(query.order_by(HouseLimitRow.id)))
