"""Price agreements: what a visit costs a customer, from a day on. One without a customer is the firm's own list."""

from datetime import date
from decimal import Decimal

from sqlalchemy import ForeignKey, or_, select, text
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.rules.discounts import parse_discount
from app.rules.equipment import Kind
from app.rules.money import convert_from_pence
from app.rules.prices import Extra, PriceAgreement, Rate, TravelUnit
from app.store.database import Base, Missing
from app.store.equipment_types import EquipmentTypeRow


class PriceAgreementRow(Base):
    __tablename__ = "price_agreements"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int | None] = mapped_column(ForeignKey("customers.id"), index=True)
    valid_from: Mapped[date]
    item_pence: Mapped[int]
    call_out_pence: Mapped[int]
    minimum_pence: Mapped[int]
    valid_until: Mapped[date | None]
    visit_pence: Mapped[int] = mapped_column(default=0, server_default=text("0"))
    travel_pence: Mapped[int] = mapped_column(default=0, server_default=text("0"))
    travel_rate_pence: Mapped[int] = mapped_column(default=0, server_default=text("0"))
    travel_unit: Mapped[str] = mapped_column(default="mile", server_default=text("'mile'"))
    discount: Mapped[str] = mapped_column(default="", server_default=text("''"))
    discount_reason: Mapped[str] = mapped_column(default="", server_default=text("''"))
    kinds: Mapped[list["KindPriceRow"]] = relationship(cascade="all, delete-orphan", order_by="KindPriceRow.kind")
    steps: Mapped[list["PriceStepRow"]] = relationship(cascade="all, delete-orphan", order_by="PriceStepRow.id")
    extras: Mapped[list["PriceExtraRow"]] = relationship(cascade="all, delete-orphan", order_by="PriceExtraRow.id")

    @property
    def facts(self) -> PriceAgreement:
        """The agreement as the rules see it."""
        return PriceAgreement(
            fallback_price=convert_from_pence(self.item_pence),
            price_by_kind={Kind(price.kind): convert_from_pence(price.pence) for price in self.kinds},
            minimum_charge=_some(self.minimum_pence),
            call_out=_some(self.call_out_pence),
            rates=tuple(step.facts for step in self.steps),
            visit_price=_some(self.visit_pence),
            travel=_some(self.travel_pence),
            travel_rate=_some(self.travel_rate_pence),
            travel_unit=TravelUnit(self.travel_unit),
            extras=tuple(Extra(each.name, convert_from_pence(each.pence), each.unit) for each in self.extras),
            discount=parse_discount(self.discount, self.discount_reason),
        )


class KindPriceRow(Base):
    """The price of an item of one kind, where it differs from the usual one."""

    __tablename__ = "kind_prices"

    agreement_id: Mapped[int] = mapped_column(ForeignKey("price_agreements.id"), primary_key=True)
    kind: Mapped[str] = mapped_column(primary_key=True)
    pence: Mapped[int]


class PriceStepRow(Base):
    """The price from a certain number of items on: of an equipment type, a kind, or of all without their own price."""

    __tablename__ = "price_steps"

    id: Mapped[int] = mapped_column(primary_key=True)
    agreement_id: Mapped[int] = mapped_column(ForeignKey("price_agreements.id"), index=True)
    equipment_type_id: Mapped[int | None] = mapped_column(ForeignKey("equipment_types.id"))
    kind: Mapped[str] = mapped_column(default="")
    from_item: Mapped[int] = mapped_column(default=1)
    pence: Mapped[int]
    equipment_type: Mapped[EquipmentTypeRow | None] = relationship()

    @property
    def facts(self) -> Rate:
        type_name = self.equipment_type.name if self.equipment_type else ""
        return Rate(convert_from_pence(self.pence), self.from_item, Kind(self.kind) if self.kind else None, type_name)


class PriceExtraRow(Base):
    """Something done on top, named by the firm: a fuse changed, an hour of repair."""

    __tablename__ = "price_extras"

    id: Mapped[int] = mapped_column(primary_key=True)
    agreement_id: Mapped[int] = mapped_column(ForeignKey("price_agreements.id"), index=True)
    name: Mapped[str]
    unit: Mapped[str] = mapped_column(default="")
    pence: Mapped[int]


def _some(pence: int) -> Decimal | None:
    return convert_from_pence(pence) if pence else None


def find_price_agreement(session: Session, customer_id: int | None, day: date) -> PriceAgreementRow | None:
    """The agreement that holds for a customer on a day: its own newest one that has not ended, else the firm's."""
    query = (
        select(PriceAgreementRow)
        .where(PriceAgreementRow.valid_from <= day)
        .where(or_(PriceAgreementRow.valid_until.is_(None), PriceAgreementRow.valid_until >= day))
        .where(or_(PriceAgreementRow.customer_id == customer_id, PriceAgreementRow.customer_id.is_(None)))
        .order_by(
            PriceAgreementRow.customer_id.is_(None), PriceAgreementRow.valid_from.desc(), PriceAgreementRow.id.desc()
        )
    )
    return session.scalars(query).first()


def get_price_agreement(session: Session, agreement_id: int) -> PriceAgreementRow:
    """Raises Missing."""
    row = session.get(PriceAgreementRow, agreement_id)
    if row is None:
        raise Missing("price agreement")
    return row


def list_price_agreements(session: Session, customer_id: int | None) -> list[PriceAgreementRow]:
    where = (PriceAgreementRow.customer_id == customer_id) if customer_id else PriceAgreementRow.customer_id.is_(None)
    query = select(PriceAgreementRow).where(where)
    return list(session.scalars(query.order_by(PriceAgreementRow.valid_from.desc(), PriceAgreementRow.id.desc())))
