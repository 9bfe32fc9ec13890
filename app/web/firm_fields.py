"""The fields of a form for the firm: what they offer, what they show, and what was typed in them.

Set-up and settings share them; templates/settings/_firm_fields.html draws them.
"""

import re

from app.rules.customers import check_email
from app.rules.firms import FirmDetails, LegalForm, Nation
from app.web.fields import NOTE_MOST, Form

Options = list[tuple[str, str]]

COMPANIES = (LegalForm.LIMITED_COMPANY, LegalForm.LLP, LegalForm.CHARITY)
LEGAL_FORMS = {
    LegalForm.SOLE_TRADER: "Sole trader",
    LegalForm.PARTNERSHIP: "Partnership",
    LegalForm.LIMITED_COMPANY: "Limited company",
    LegalForm.LLP: "Limited liability partnership (LLP)",
    LegalForm.CHARITY: "Charity",
}
PAYMENT_DAYS_MOST = 120


def list_firm_choices() -> dict[str, Options]:
    """The options of each choice."""
    return {
        "legal_form": [(form.value, word) for form, word in LEGAL_FORMS.items()],
        "registered_in": [(nation.value, nation.value) for nation in Nation],
    }


def show_firm_fields(details: FirmDetails) -> dict[str, str]:
    """What each field shows, by field name."""
    values = {name: str(getattr(details, name)) for name in FirmDetails.__dataclass_fields__}
    return values | {
        "vat_registered": "yes" if details.vat_registered else "",
        "reverse_charge": "yes" if details.reverse_charge else "",
    }


def new_firm_details(sent: Form, kept: FirmDetails | None = None) -> FirmDetails:
    """The firm as the form describes it. What is wrong is collected in the form; the caller ends with done().

    Fields that the chosen legal form does not need are hidden on the page, so what they hold is left out. What visits
    are judged by has a form of its own: it stays as kept.
    """
    form = sent.choice("legal_form", LegalForm)
    company, vat_registered = form in COMPANIES, sent.tick("vat_registered")
    email = sent.text("email")
    for sentence in check_email(email).values():
        sent.blame("email", sentence)
    payment_days = sent.whole("payment_days", 0, PAYMENT_DAYS_MOST)
    if payment_days is None:
        sent.blame("payment_days", f"Give a number of days from 0 to {PAYMENT_DAYS_MOST}.")
    return FirmDetails(
        name=sent.text("name"),
        legal_name=sent.text("legal_name"),
        legal_form=form,
        address=sent.lines("address", NOTE_MOST),
        postcode=sent.text("postcode").upper(),
        phone=sent.text("phone"),
        email=email,
        company_number=sent.text("company_number").upper() if company else "",
        registered_in=_one_of(sent, "registered_in", [nation.value for nation in Nation]) if company else "",
        registered_office=sent.lines("registered_office", NOTE_MOST) if company else "",
        charity_number=sent.text("charity_number").upper() if form == LegalForm.CHARITY else "",
        vat_registered=vat_registered,
        vat_number=sent.text("vat_number").upper() if vat_registered else "",
        bank_name=sent.text("bank_name"),
        bank_account_name=sent.text("bank_account_name"),
        bank_sort_code=_sort_code(sent.text("bank_sort_code")),
        bank_account_number=sent.text("bank_account_number").replace(" ", ""),
        payment_days=payment_days or 0,
        certificate_prefix=sent.text("certificate_prefix").upper(),
        invoice_prefix=sent.text("invoice_prefix").upper(),
        credit_note_prefix=sent.text("credit_note_prefix").upper() or FirmDetails.credit_note_prefix,
        quote_prefix=sent.text("quote_prefix").upper() or FirmDetails.quote_prefix,
        reverse_charge=vat_registered and sent.tick("reverse_charge"),
        rulebook_id=kept.rulebook_id if kept else FirmDetails.rulebook_id,
        decision_rule=kept.decision_rule if kept else FirmDetails.decision_rule,
        dielectric_by_id=kept.dielectric_by_id if kept else None,
    )


def _one_of(sent: Form, name: str, values: list[str]) -> str:
    value = sent.value(name)
    if value and value not in values:
        sent.blame(name, "Choose one of these.")
        return ""
    return value


def _sort_code(text: str) -> str:
    digits = re.sub(r"[\s-]", "", text)
    return f"{digits[:2]}-{digits[2:4]}-{digits[4:]}" if re.fullmatch(r"[0-9]{6}", digits) else text
