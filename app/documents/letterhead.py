"""The firm's letterhead and the parties as data, with the sentences that the firm's legal form obliges it to print."""

from typing import Any

from app.rules.firms import LegalForm
from app.rules.letterheads import FirmFacts


def letterhead_from(firm: FirmFacts) -> dict[str, Any]:
    """Give name, address lines, contact lines and legal sentences. The tax is not mentioned here."""
    return {
        "name": firm.trading_name.strip() or firm.legal_name,
        "address": [line for line in firm.address if line.strip()],
        "contact": [text for text in (firm.phone, firm.email, firm.website) if text.strip()],
        "legal": legal_sentences_from(firm),
    }


def party_from(name: str, address: tuple[str, ...], more: str) -> dict[str, Any]:
    """Give a customer or a place as papers print it: name, address lines, and one line more."""
    return {"name": name, "address": [line for line in address if line.strip()], "more": more}


def legal_sentences_from(firm: FirmFacts) -> list[str]:
    """Give what a firm of this legal form must say about itself (see app/rules/letterheads.py for the sources)."""
    name, trading = firm.legal_name, firm.trading_name.strip()
    under = f"{trading} is a trading name of {name}" if trading and trading != name else ""
    address = ", ".join(line for line in firm.address if line.strip())
    service = f"Address for documents: {address}."
    if firm.legal_form == LegalForm.SOLE_TRADER:
        return [f"{under}.", service] if under else []
    if firm.legal_form == LegalForm.PARTNERSHIP:
        if trading:
            return [f"{trading} is a partnership of {name}.", service]
        return [f"Partners: {name}.", service]
    if firm.legal_form == LegalForm.CHARITY:
        said = [f"{under}, a registered charity" if under else f"{name} is a registered charity"]
        said[0] += f", number {firm.charity_number}."
        if firm.company_number:
            said.append(_registration("Registered", firm))
        return said
    opening = f"{under}, registered" if under else f"{name} is registered"
    return [_registration(opening, firm)]


def _registration(opening: str, firm: FirmFacts) -> str:
    office = ", ".join(line for line in firm.registered_office if line.strip())
    return f"{opening} in {firm.registered_in}, number {firm.company_number}. Registered office: {office}."
