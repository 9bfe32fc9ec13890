"""The firm, its logo, and the series that number its papers. There is one firm in one database."""

from sqlalchemy import false, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Mapped, Session, mapped_column

from app.rules.decisions import DecisionRule
from app.rules.firms import FirmDetails, LegalForm
from app.rules.letterheads import BankFacts, FirmFacts
from app.store.database import Base, Missing


class FirmRow(Base):
    __tablename__ = "firms"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    legal_name: Mapped[str]
    legal_form: Mapped[str]
    address: Mapped[str]
    postcode: Mapped[str]
    phone: Mapped[str]
    email: Mapped[str]
    company_number: Mapped[str]
    registered_in: Mapped[str]
    registered_office: Mapped[str]
    charity_number: Mapped[str]
    vat_registered: Mapped[bool]
    vat_number: Mapped[str]
    bank_name: Mapped[str]
    bank_account_name: Mapped[str]
    bank_sort_code: Mapped[str]
    bank_account_number: Mapped[str]
    payment_days: Mapped[int]
    certificate_prefix: Mapped[str]
    invoice_prefix: Mapped[str]
    credit_note_prefix: Mapped[str] = mapped_column(server_default="CN")
    quote_prefix: Mapped[str] = mapped_column(server_default="Q")
    reverse_charge: Mapped[bool] = mapped_column(server_default=false())
    rulebook_id: Mapped[str]
    decision_rule: Mapped[str] = mapped_column(server_default="simple")
    rulebook_settings: Mapped[dict[str, dict[str, str]] | None]  # by rulebook, then by setting
    dielectric_by_id: Mapped[int | None]  # a person; SQLite cannot add a foreign key to a table that is there
    logo_png: Mapped[bytes | None] = mapped_column(deferred=True)  # no page but the settings needs it
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}

    @property
    def details(self) -> FirmDetails:
        values = {name: getattr(self, name) for name in FirmDetails.__dataclass_fields__}
        enums = {"legal_form": LegalForm(self.legal_form), "decision_rule": DecisionRule(self.decision_rule)}
        return FirmDetails(**values | enums)

    @property
    def facts(self) -> FirmFacts:
        """What the letterhead can say."""
        return FirmFacts(
            legal_form=LegalForm(self.legal_form),
            legal_name=self.legal_name,
            address=list_lines(self.address, self.postcode),
            trading_name="" if self.name == self.legal_name else self.name,
            phone=self.phone,
            email=self.email,
            company_number=self.company_number,
            registered_in=self.registered_in,
            registered_office=list_lines(self.registered_office),
            charity_number=self.charity_number,
            vat_registered=self.vat_registered,
            vat_number=self.vat_number if self.vat_registered else "",
            bank=BankFacts(self.bank_account_name, self.bank_sort_code, self.bank_account_number, self.bank_name)
            if self.bank_account_number
            else None,
        )


def list_lines(*texts: str) -> tuple[str, ...]:
    """The lines of an address that are not empty."""
    return tuple(line.strip() for text in texts for line in text.splitlines() if line.strip())


class SeriesRow(Base):
    """A series of paper numbers. Numbers run from 1 without a gap."""

    __tablename__ = "series"

    name: Mapped[str] = mapped_column(primary_key=True)
    last_number: Mapped[int] = mapped_column(default=0)


def find_firm(session: Session) -> FirmRow | None:
    return session.get(FirmRow, 1)


def get_firm(session: Session, locked: bool = False) -> FirmRow:
    """Raises Missing before the firm is set up. locked: whoever else locks it waits until the transaction ends."""
    row = session.get(FirmRow, 1, with_for_update=locked or None)
    if row is None:
        raise Missing("firm")
    return row


def next_in_series(session: Session, name: str) -> int:
    """Take the next number of a series; the row stays locked until the transaction ends."""
    insert = postgresql.insert if session.get_bind().dialect.name == "postgresql" else sqlite.insert
    # Two who take the first number at once must both find the row, and the second wait for the first.
    session.execute(insert(SeriesRow).values(name=name, last_number=0).on_conflict_do_nothing())
    row = session.scalars(select(SeriesRow).where(SeriesRow.name == name).with_for_update()).one()
    row.last_number += 1
    session.flush()
    return row.last_number
