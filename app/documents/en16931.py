"""An invoice or credit note in the terms of EN 16931-1 (BT-1 …, BG-1 …), as plain values frozen with the paper.

Both syntaxes, UBL and CII, are written from this and from nothing else, so the files say what the paper says.
"""

import re
from decimal import Decimal
from typing import Any

from app.rules.invoices import InvoiceFacts, InvoiceLine
from app.rules.letterheads import BankFacts, FirmFacts
from app.rules.money import Adjustment, Totals, VatCategory, VatGroup, total_line
from app.rules.vat_numbers import number_vat_printed

SPECIFICATION = "urn:cen.eu:en16931:2017"  # BT-24
_COUNTRY = "GB"
_CREDIT_TRANSFER = "30"  # UNTDID 4461
_UNITS = {"hour": "HUR", "hours": "HUR", "mile": "SMI", "miles": "SMI", "km": "KMT", "m": "MTR"}  # UN/ECE 20
_ONE = "C62"
# BT-120 and BT-121 (VATEX code list of the European Commission).
_REASONS = {
    VatCategory.EXEMPT: ("Exempt from VAT", ""),
    VatCategory.REVERSE_CHARGE: ("Reverse charge", "VATEX-EU-AE"),
    VatCategory.OUTSIDE: ("Not subject to VAT", "VATEX-EU-O"),
    VatCategory.EXPORT: ("Export outside the EU", "VATEX-EU-G"),
    VatCategory.INTRA_COMMUNITY: ("Intra-community supply", "VATEX-EU-IC"),
}


def terms_from(facts: InvoiceFacts, totals: Totals, notes: list[str]) -> dict[str, Any]:
    """Give the paper's business terms as JSON-able values; amounts and dates as text. notes: BT-22, one each."""
    taxed = all(group.category != VatCategory.OUTSIDE for group in totals.groups)
    tax_point = facts.tax_point or facts.supplied_on
    several = facts.supplied_from is not None and facts.supplied_from != facts.supplied_on
    return {
        "BT-1": facts.number,
        "BT-2": facts.issued_on.isoformat(),
        "BT-3": facts.type_code,
        "BT-5": "GBP",
        "BT-7": tax_point.isoformat() if taxed else "",
        "BT-9": facts.due_on.isoformat(),
        "BT-13": facts.customer_reference,
        "BT-20": facts.terms,
        "BT-22": [note for note in notes if note.strip()],
        "BG-3": [{"BT-25": number, "BT-26": day.isoformat()} for number, day in facts.preceding],
        "BG-4": _seller(facts.firm, taxed),
        "BG-7": {
            "name": facts.customer.name,
            "address": _address(facts.customer.address),
            "vat_number": _tight(facts.customer.vat_number) if taxed else "",
            "contact": facts.customer.contact,
        },
        "BG-13": {
            "name": facts.premises.name if facts.premises else "",
            "address": _address(facts.premises.address) if facts.premises else {},
            "BT-72": "" if several else facts.supplied_on.isoformat(),
            "BT-73": facts.supplied_from.isoformat() if several and facts.supplied_from else "",
            "BT-74": facts.supplied_on.isoformat() if several else "",
        },
        "BG-16": _payment(facts),
        "BG-20": [_allowance(each) for each in facts.adjustments],
        "BG-22": {
            "BT-106": str(totals.lines),
            "BT-107": str(totals.allowances),
            "BT-108": str(totals.charges),
            "BT-109": str(totals.net),
            "BT-110": str(totals.vat),
            "BT-112": str(totals.gross),
            "BT-113": str(totals.paid),
            "BT-114": str(totals.rounding),
            "BT-115": str(totals.due),
        },
        "BG-23": [_group(group) for group in totals.groups],
        "BG-25": [_line(place, line) for place, line in enumerate(facts.lines, 1)],
    }


def _seller(firm: FirmFacts, taxed: bool) -> dict[str, Any]:
    number = _tight(firm.vat_number) if taxed and firm.vat_registered else ""
    # BR-CO-26 asks for one identifier: a firm with neither number is known by how it is reached.
    known_by = "" if number or firm.company_number else firm.email or firm.phone
    return {
        "name": firm.legal_name,
        "trading_name": firm.trading_name if firm.trading_name != firm.legal_name else "",
        "known_by": known_by,
        "company_number": firm.company_number,
        "vat_number": number,
        "address": _address(firm.address),
        "contact": firm.trading_name or firm.legal_name,
        "phone": firm.phone,
        "email": firm.email,
    }


def _payment(facts: InvoiceFacts) -> dict[str, str]:
    bank = facts.firm.bank or BankFacts("")
    account = bank.iban or " ".join(part for part in (bank.sort_code, bank.account_number) if part)
    if not account:
        return {}
    return {
        "BT-81": _CREDIT_TRANSFER,
        "BT-83": facts.payment_reference or facts.number,
        "BT-84": account,
        "BT-85": bank.account_name,
        "iban": "yes" if bank.iban else "",
    }


def _address(lines: tuple[str, ...]) -> dict[str, str]:
    """Line 1 to 3, city and postcode, taken from the end: the postcode is what has a figure and no more than 10
    characters, the city what stands before it."""
    left = [line.strip() for line in lines if line.strip()]
    code = left.pop() if len(left) > 1 and len(left[-1]) <= 10 and re.search(r"\d", left[-1]) else ""
    city = left.pop() if len(left) > 1 else ""
    first, second, *more = [*left, "", ""]
    third = ", ".join(line for line in more if line)
    return {"1": first, "2": second, "3": third, "city": city, "postcode": code, "country": _COUNTRY}


def _allowance(adjustment: Adjustment) -> dict[str, Any]:
    usual = "Charge" if adjustment.charge else "Discount"
    vat = adjustment.vat
    return {
        "charge": adjustment.charge,
        "amount": _two(adjustment.amount),
        "percent": "" if adjustment.percent is None else _plain(adjustment.percent),
        "base": "" if adjustment.base is None else _two(adjustment.base),
        "reason": adjustment.reason or usual,
        "category": vat.category.value if vat else "",
        "rate": "" if vat is None or vat.rate is None else _plain(vat.rate),
    }


def _group(group: VatGroup) -> dict[str, str]:
    reason, code = _REASONS.get(group.category, ("", ""))
    return {
        "BT-116": str(group.taxable),
        "BT-117": str(group.tax),
        "BT-118": group.category.value,
        "BT-119": "" if group.rate is None else _plain(group.rate),
        "BT-120": reason,
        "BT-121": code,
    }


def _line(place: int, line: InvoiceLine) -> dict[str, Any]:
    return {
        "BT-126": str(place),
        "BT-129": _plain(line.quantity),
        "BT-130": _UNITS.get(line.unit, _ONE),
        "BT-131": str(total_line(line.priced)),
        "BG-27": [_allowance(each) for each in line.adjustments],
        "BT-146": _plain(line.price),
        "BT-149": "" if line.base_quantity == 1 else _plain(line.base_quantity),
        "BT-151": line.vat.category.value,
        "BT-152": "" if line.vat.rate is None else _plain(line.vat.rate),
        "BT-153": line.text,
        "BT-154": f"Items {', '.join(line.item_numbers)}" if line.item_numbers else "",
    }


def _tight(number: str) -> str:
    """A VAT number with its country and without spaces (BR-CO-09)."""
    return (number_vat_printed(number) or number).replace(" ", "")


def _two(amount: Decimal) -> str:
    return f"{amount:.2f}"


def _plain(number: Decimal) -> str:
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
