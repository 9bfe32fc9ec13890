"""What is kept about a customer, its contacts, its premises and their locations."""

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from app.rules.equipment import Environment
from app.rules.vat_numbers import check_vat_number


class CustomerKind(StrEnum):
    """Who the customer is to the law on late payment."""

    BUSINESS = "business"
    PUBLIC_AUTHORITY = "public-authority"
    CONSUMER = "consumer"

    @property
    def word(self) -> str:
        return {"public-authority": "public authority", "consumer": "private person"}.get(self.value, self.value)


@dataclass(frozen=True)
class CustomerDetails:
    name: str
    address: str = ""
    postcode: str = ""
    email: str = ""
    phone: str = ""
    dutyholder: str = ""
    notes: str = ""
    rulebook_id: str = ""  # empty: as the firm
    decision_rule: str = ""  # empty: as the firm
    kind: CustomerKind = CustomerKind.BUSINESS
    vat_number: str = ""


@dataclass(frozen=True)
class ContactDetails:
    name: str
    role: str = ""
    phone: str = ""
    email: str = ""


@dataclass(frozen=True)
class PremisesDetails:
    name: str
    address: str
    postcode: str = ""
    environment: Environment = Environment.OFFICE
    access_notes: str = ""
    miles: Decimal | None = None  # there and back, for travel charged by distance


def check_customer(details: CustomerDetails) -> dict[str, str]:
    """What is wrong, by field name."""
    mistakes = {} if details.name.strip() else {"name": "Give the customer's name."}
    if details.vat_number.strip() and not check_vat_number(details.vat_number):
        mistakes["vat_number"] = "This is not a United Kingdom VAT number: nine digits, with check digits that fit."
    return mistakes | check_email(details.email)


def check_contact(details: ContactDetails) -> dict[str, str]:
    """What is wrong, by field name."""
    mistakes = {} if details.name.strip() else {"name": "Give the contact's name."}
    return mistakes | check_email(details.email)


def check_premises(details: PremisesDetails) -> dict[str, str]:
    """What is wrong, by field name."""
    mistakes = {} if details.name.strip() else {"name": "Give the premises a name."}
    if details.miles is not None and not 0 <= details.miles <= 2000:
        mistakes["miles"] = "Give a distance from 0 to 2,000 miles."
    if not details.address.strip():
        mistakes["address"] = "Give the address; the certificate must say where the work was done."
    return mistakes


def check_email(email: str) -> dict[str, str]:
    """What is wrong with an e-mail address, as a mistake of the field email; an empty one is allowed."""
    if email and not re.fullmatch(r"[^@\s,;<>\"]+@[^@\s,;<>\"]+\.[^@\s,;<>\".]+", email):
        return {"email": "This is not an e-mail address."}
    return {}
