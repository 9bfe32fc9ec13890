"""Premises of customers, and the locations in them."""

from decimal import Decimal

from sqlalchemy import ForeignKey, UniqueConstraint, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.rules.customers import PremisesDetails
from app.rules.equipment import Environment
from app.store.customers import CustomerRow
from app.store.database import STRICT, Base, Missing


class PremisesRow(Base):
    __tablename__ = "premises"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    name: Mapped[str]
    address: Mapped[str]
    postcode: Mapped[str]
    environment: Mapped[str]
    access_notes: Mapped[str]
    miles: Mapped[Decimal | None]
    version: Mapped[int] = mapped_column(default=1)
    customer: Mapped[CustomerRow] = relationship()
    locations: Mapped[list["LocationRow"]] = relationship(order_by="LocationRow.position, LocationRow.id")

    __mapper_args__ = {"version_id_col": version}

    @property
    def details(self) -> PremisesDetails:
        values = {name: getattr(self, name) for name in PremisesDetails.__dataclass_fields__}
        return PremisesDetails(**values | {"environment": Environment(self.environment)})


class LocationRow(Base):
    __tablename__ = "locations"
    __table_args__ = (UniqueConstraint("premises_id", "name"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    premises_id: Mapped[int] = mapped_column(ForeignKey("premises.id"))
    name: Mapped[str]
    position: Mapped[int] = mapped_column(default=0)
    premises: Mapped[PremisesRow] = relationship(overlaps="locations")


def get_premises(session: Session, premises_id: int) -> PremisesRow:
    """Raises Missing."""
    row = session.get(PremisesRow, premises_id)
    if row is None:
        raise Missing("premises")
    return row


def get_location(session: Session, location_id: int) -> LocationRow:
    """Raises Missing."""
    row = session.get(LocationRow, location_id)
    if row is None:
        raise Missing("location")
    return row


def list_premises(session: Session, customer_id: int | None = None) -> list[PremisesRow]:
    query = select(PremisesRow).join(CustomerRow).order_by(CustomerRow.name, PremisesRow.name)
    if customer_id is not None:
        query = query.where(PremisesRow.customer_id == customer_id)
    return list(session.scalars(query))
