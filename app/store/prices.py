"""Price agreements: what a visit costs a customer, from a day on. One without a customer is the firm's own list."""

from datetime import date

from sqlalchemy import ForeignKey, or_, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.store.database import Base, Missing


class PriceAgreementRow(Base):
    __tablename__ = "price_agreements"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int | None] = mapped_column(ForeignKey("customers.id"), index=True)
    valid_from: Mapped[date]
    item_pence: Mapped[int]
    call_out_pence: Mapped[int]
    minimum_pence: Mapped[int]
    kinds: Mapped[list["KindPriceRow"]] = relationship(cascade="all, delete-orphan", order_by="KindPriceRow.kind")


class KindPriceRow(Base):
    """The price of an item of one kind, where it differs from the usual one."""

    __tablename__ = "kind_prices"

    agreement_id: Mapped[int] = mapped_column(ForeignKey("price_agreements.id"), primary_key=True)
    kind: Mapped[str] = mapped_column(primary_key=True)
    pence: Mapped[int]


def find_price_agreement(session: Session, customer_id: int | None, day: date) -> PriceAgreementRow | None:
    """The agreement that holds for a customer on a day: its own newest one, else the firm's newest one."""
    query = (
        select(PriceAgreementRow)
        .where(PriceAgreementRow.valid_from <= day)
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
