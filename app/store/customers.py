"""Customers and their contacts."""

from sqlalchemy import ForeignKey, func, or_, select, text
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.rules.customers import CustomerDetails, CustomerKind
from app.store.database import Base, Missing


class CustomerRow(Base):
    __tablename__ = "customers"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(index=True)
    address: Mapped[str]
    postcode: Mapped[str]
    email: Mapped[str]
    phone: Mapped[str]
    dutyholder: Mapped[str]
    notes: Mapped[str]
    rulebook_id: Mapped[str] = mapped_column(server_default=text("''"))
    decision_rule: Mapped[str] = mapped_column(server_default=text("''"))
    kind: Mapped[str] = mapped_column(server_default=text("'business'"))
    vat_number: Mapped[str] = mapped_column(server_default=text("''"))
    version: Mapped[int] = mapped_column(default=1)
    contacts: Mapped[list["ContactRow"]] = relationship(order_by="ContactRow.id", cascade="all, delete-orphan")

    __mapper_args__ = {"version_id_col": version}

    @property
    def details(self) -> CustomerDetails:
        values = {name: getattr(self, name) for name in CustomerDetails.__dataclass_fields__}
        return CustomerDetails(**values | {"kind": CustomerKind(self.kind)})

    @property
    def mail_address(self) -> str:
        """Where e-mails go: to the first contact with an address, else to the customer's own, which may be empty."""
        return next((contact.email for contact in self.contacts if contact.email), self.email)


class ContactRow(Base):
    __tablename__ = "contacts"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    name: Mapped[str]
    role: Mapped[str]
    phone: Mapped[str]
    email: Mapped[str]


def get_customer(session: Session, customer_id: int, locked: bool = False) -> CustomerRow:
    """Raises Missing. locked: nobody else takes the row until the transaction ends."""
    row = session.get(CustomerRow, customer_id, with_for_update=locked or None)
    if row is None:
        raise Missing("customer")
    return row


def get_contact(session: Session, contact_id: int) -> ContactRow:
    """Raises Missing."""
    row = session.get(ContactRow, contact_id)
    if row is None:
        raise Missing("contact")
    return row


def list_customers(session: Session, search: str = "") -> list[CustomerRow]:
    query = select(CustomerRow).order_by(func.lower(CustomerRow.name))
    for word in search.split():
        query = query.where(
            or_(
                *(
                    column.icontains(word, autoescape=True)
                    for column in (CustomerRow.name, CustomerRow.address, CustomerRow.postcode, CustomerRow.email)
                )
            )
        )
    return list(session.scalars(query))
