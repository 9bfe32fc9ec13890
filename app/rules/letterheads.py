"""What the firm's legal form obliges it to print on certificates, invoices and letters, and what is missing.

Companies: trading disclosures, SI 2015/17 part 6. Sole traders and partnerships that trade under another
name: Companies Act 2006, section 1202. Charities: Charities Act 2011, section 194 (from memory).
"""

from dataclasses import dataclass

from app.rules.firms import LegalForm
from app.rules.vat_numbers import number_vat_printed


@dataclass(frozen=True)
class BankFacts:
    """Where a customer pays. All as text, printed as given."""

    account_name: str
    sort_code: str = ""
    account_number: str = ""
    bank_name: str = ""
    iban: str = ""


@dataclass(frozen=True)
class FirmFacts:
    """What the letterhead can say. Addresses are lines, the last one the postcode; empty text: not known.

    legal_name: a person's own name, all partners' names, or the name on the certificate of incorporation.
    trading_name: the name customers know, where it is another.
    address: where the firm works and takes letters (for a sole trader the address for legal documents).
    vat_registered False: no paper may mention the tax at all, whatever vat_number holds.
    """

    legal_form: LegalForm
    legal_name: str
    address: tuple[str, ...]
    trading_name: str = ""
    phone: str = ""
    email: str = ""
    website: str = ""
    company_number: str = ""
    registered_in: str = ""
    registered_office: tuple[str, ...] = ()
    charity_number: str = ""
    vat_registered: bool = False
    vat_number: str = ""
    bank: BankFacts | None = None


_NAME_GAPS = {
    LegalForm.SOLE_TRADER: "Enter the owner's own name: a sole trader's papers must show it.",
    LegalForm.PARTNERSHIP: "Enter the names of all partners: a partnership's papers must show them.",
}


def list_missing_particulars(firm: FirmFacts) -> tuple[str, ...]:
    """List, as sentences for the owner, what papers of its legal form must show and the settings lack."""
    form = firm.legal_form
    gaps: list[str] = []
    if not firm.legal_name.strip():
        gaps.append(_NAME_GAPS.get(form, "Enter the firm's full registered name."))
    if not any(line.strip() for line in firm.address):
        gaps.append("Enter the firm's address.")
    if not (firm.phone.strip() or firm.email.strip()):
        gaps.append("Enter a phone number or an e-mail address at which customers reach the firm.")
    if form in (LegalForm.LIMITED_COMPANY, LegalForm.LLP):
        if not firm.company_number.strip():
            gaps.append("Enter the registered number of the company.")
        if not firm.registered_in.strip():
            gaps.append("Enter the part of the United Kingdom in which the company is registered.")
        if not any(line.strip() for line in firm.registered_office):
            gaps.append("Enter the address of the registered office.")
    if form == LegalForm.CHARITY and not firm.charity_number.strip():
        gaps.append("Enter the charity's registered number.")
    if firm.vat_registered and not firm.vat_number.strip():
        gaps.append("Enter the VAT number, or say in the settings that the firm is not registered for VAT.")
    elif firm.vat_registered and not number_vat_printed(firm.vat_number):
        gaps.append("The VAT number in the settings is not a United Kingdom VAT number. Check it.")
    return tuple(gaps)
