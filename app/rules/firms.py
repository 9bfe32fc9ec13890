"""The firm: its legal form, where it is registered, and what its owner must tell before papers can be printed."""

import re
from dataclasses import dataclass
from enum import StrEnum

from app.rules.decisions import DecisionRule
from app.rules.vat_numbers import check_vat_number, number_vat_printed

CLAIM_PREFIX = "LP"  # numbers of claims for late payment begin with it
#: The same of papers that are no certificate of a visit (app/rules/papers.py), by what they are.
PAPER_PREFIXES = {"register": "REG", "defect list": "DEF", "item certificate": "ITM", "item history": "HIS"}


class LegalForm(StrEnum):
    SOLE_TRADER = "sole-trader"
    PARTNERSHIP = "partnership"
    LIMITED_COMPANY = "limited-company"
    LLP = "llp"
    CHARITY = "charity"

    @property
    def word(self) -> str:
        return "LLP" if self == "llp" else self.value.replace("-", " ")


class Nation(StrEnum):
    """The part of the United Kingdom in which a company is registered."""

    ENGLAND_AND_WALES = "England and Wales"
    WALES = "Wales"
    SCOTLAND = "Scotland"
    NORTHERN_IRELAND = "Northern Ireland"


@dataclass(frozen=True)
class FirmDetails:
    """The firm as the owner describes it. address and registered_office are lines of text.

    dielectric_by_id: the person competent for dielectric strength tests; None while the firm does none.
    reverse_charge: the firm has work whose VAT the customer accounts for, so that a line can say so.
    """

    name: str
    legal_name: str
    legal_form: LegalForm
    address: str
    postcode: str
    phone: str = ""
    email: str = ""
    company_number: str = ""
    registered_in: str = ""
    registered_office: str = ""
    charity_number: str = ""
    vat_registered: bool = False
    vat_number: str = ""
    bank_name: str = ""
    bank_account_name: str = ""
    bank_sort_code: str = ""
    bank_account_number: str = ""
    payment_days: int = 30
    certificate_prefix: str = "C"
    invoice_prefix: str = "INV"
    rulebook_id: str = "uk-2012"
    decision_rule: DecisionRule = DecisionRule.SIMPLE
    dielectric_by_id: int | None = None
    credit_note_prefix: str = "CN"
    quote_prefix: str = "Q"
    reverse_charge: bool = False


def check_firm(details: FirmDetails) -> dict[str, str]:
    """What is wrong with the firm's details, by field name; empty when its papers can be printed."""
    mistakes = {}
    needed = [
        ("name", "the name customers know"),
        ("legal_name", "the legal name"),
        ("address", "the address"),
        ("postcode", "the postcode"),
    ]
    if details.legal_form in (LegalForm.LIMITED_COMPANY, LegalForm.LLP):
        needed += [
            ("company_number", "the registered number"),
            ("registered_in", "the part of the UK where it is registered"),
            ("registered_office", "the registered office"),
        ]
    if details.legal_form == LegalForm.CHARITY:
        needed.append(("charity_number", "the charity's registered number"))
    for name, word in needed:
        if not getattr(details, name).strip():
            mistakes[name] = f"Give {word}; papers must show it."
    if not (details.phone.strip() or details.email.strip()):
        mistakes["phone"] = "Give a phone number or an e-mail address at which customers reach the firm."
    if details.vat_registered and not number_vat_printed(details.vat_number):
        mistakes["vat_number"] = "A UK VAT number has nine digits, with or without GB before them."
    elif details.vat_registered and not check_vat_number(details.vat_number):
        mistakes["vat_number"] = "The check digits of this VAT number do not fit. Compare it with the certificate."
    if details.bank_sort_code and not re.fullmatch(r"\d\d[- ]?\d\d[- ]?\d\d", details.bank_sort_code):
        mistakes["bank_sort_code"] = "A sort code has six digits, as in 01-02-03."
    if details.bank_account_number and not re.fullmatch(r"\d{6,10}", details.bank_account_number):
        mistakes["bank_account_number"] = "An account number has eight digits."
    if bool(details.bank_sort_code) != bool(details.bank_account_number):
        missing = "bank_account_number" if details.bank_sort_code else "bank_sort_code"
        mistakes.setdefault(missing, "A sort code and an account number belong together; customers need both to pay.")
    if not 0 <= details.payment_days <= 120:
        mistakes["payment_days"] = "Give a number of days from 0 to 120."
    prefixes = {CLAIM_PREFIX: "claims for late payment"} | {
        prefix: {"item history": "item histories"}.get(kind, f"{kind}s") for kind, prefix in PAPER_PREFIXES.items()
    }
    for name, word in (("certificate_prefix", "certificates"), ("invoice_prefix", "invoices"),
                       ("credit_note_prefix", "credit notes"), ("quote_prefix", "quotes")):  # fmt: skip
        if not re.fullmatch(r"[A-Z0-9]{1,8}", getattr(details, name)):
            mistakes[name] = "Use 1 to 8 capital letters or digits."
        elif other := prefixes.get(getattr(details, name)):
            mistakes[name] = (
                f"{word.capitalize()} and {other} need different prefixes, so that no two papers share a number."
            )
        prefixes.setdefault(getattr(details, name), word)
    return mistakes
