"""Everything a credit note says, as data: what the law wants of an invoice, and the invoice that it corrects."""

from dataclasses import replace
from typing import Any

from app.documents.en16931 import terms_from
from app.documents.letterhead import letterhead_from
from app.documents.typesetting import day_from, money_from, number_from
from app.rules.credit_notes import CreditLine, CreditNoteFacts
from app.rules.invoices import InvoiceFacts, InvoiceLine
from app.rules.money import ZERO, Totals, Vat, VatCategory, VatGroup


def credit_note_from(facts: CreditNoteFacts) -> dict[str, Any]:
    """Give all that the credit note says; every value can be kept as JSON. Amounts credited are above zero."""
    totals = facts.totals
    taxed = [["Total without VAT", money_from(totals.net)], ["VAT", money_from(totals.vat)]]
    return {
        "paper": "credit_note",
        "title": "Credit note",
        "number": facts.number,
        "issued_on": facts.issued_on.isoformat(),
        "letterhead": letterhead_from(facts.firm),
        "registered": facts.registered,
        "customer": {
            "name": facts.customer.name,
            "address": [line for line in facts.customer.address if line.strip()],
            "contact": facts.customer.contact,
        },
        "premises": [
            line for line in ((facts.premises.name, *facts.premises.address) if facts.premises else ()) if line.strip()
        ],
        "particulars": _particulars(facts),
        "corrects": {
            "number": facts.invoice_number,
            "issued_on": facts.invoice_issued_on.isoformat(),
            "sentence": f"Corrects invoice {facts.invoice_number} of {day_from(facts.invoice_issued_on)}"
            + (", the whole of it." if facts.whole else ", in part."),
        },
        "reason": facts.reason,
        "lines": [_line(line, facts.registered) for line in facts.lines],
        "groups": [_group(group) for group in totals.groups] if facts.registered else [],
        "sums": [*(taxed if facts.registered else []), ["Total credited", money_from(totals.gross)]],
        "after": f"After this credit {money_from(facts.left_to_pay)} is to be paid on invoice {facts.invoice_number}."
        if facts.left_to_pay
        else f"After this credit nothing is to be paid on invoice {facts.invoice_number}.",
        "totals": {
            "BT-109": str(totals.net),
            **({"BT-110": str(totals.vat)} if facts.registered else {}),
            "BT-112": str(totals.gross),
        },
        "vat": [
            {
                "category": group.category.value,
                "rate": None if group.rate is None else str(group.rate),
                "taxable": str(group.taxable),
                "tax": str(group.tax),
            }
            for group in totals.groups
        ],
        "terms_en16931": _terms(facts),
    }


def _terms(facts: CreditNoteFacts) -> dict[str, Any]:
    """The same in the terms of EN 16931: type 381, amounts above zero, with the invoice it corrects (BG-3)."""
    lines = tuple(
        InvoiceLine(line.text, line.quantity, line.price, line.vat, line.unit, line.base_quantity)
        for line in facts.lines
    )
    firm = replace(facts.firm, vat_registered=facts.registered, vat_number=facts.vat_number, bank=None)
    paper = InvoiceFacts(
        number=facts.number,
        firm=firm,
        customer=facts.customer,
        issued_on=facts.issued_on,
        supplied_on=facts.issued_on,
        due_on=facts.issued_on,
        lines=lines,
        tax_point=facts.tax_point,
        premises=facts.premises,
        customer_reference=facts.customer_reference,
        terms="Set against the invoice, or paid back.",
        type_code="381",
        preceding=((facts.invoice_number, facts.invoice_issued_on),),
    )
    nets = tuple(line.net for line in facts.lines)
    given = facts.totals
    totals = Totals(
        nets, given.net, ZERO, ZERO, given.net, given.vat, given.gross, ZERO, ZERO, given.gross, given.groups
    )
    return terms_from(paper, totals, [facts.reason])


def _particulars(facts: CreditNoteFacts) -> list[list[str]]:
    pairs = [
        ["Date", day_from(facts.issued_on)],
        ["Corrects invoice", facts.invoice_number],
        ["Invoice date", day_from(facts.invoice_issued_on)],
    ]
    if facts.registered:
        if facts.tax_point != facts.invoice_issued_on:
            pairs.append(["Tax point of invoice", day_from(facts.tax_point)])
        pairs.append(["VAT number", facts.vat_number])
    pairs.append(["Your reference", facts.customer_reference])
    return [pair for pair in pairs if pair[1]]


def _line(line: CreditLine, registered: bool) -> dict[str, Any]:
    per = "" if line.base_quantity == 1 else f" for {number_from(line.base_quantity)}"
    return {
        "text": line.text,
        "quantity": number_from(line.quantity),
        "unit": line.unit,
        "price": money_from(line.price) + per,
        "rate": _rate(line.vat) if registered else "",
        "net": money_from(line.net),
        "BT-131": str(line.net),
    }


def _group(group: VatGroup) -> dict[str, str]:
    return {
        "rate": _rate(Vat(group.category, group.rate)),
        "net": money_from(group.taxable),
        "vat": money_from(group.tax),
    }


def _rate(vat: Vat) -> str:
    if vat.category == VatCategory.STANDARD and vat.rate is not None:
        return f"{number_from(vat.rate)}%"
    return vat.category.word
