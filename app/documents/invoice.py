"""Everything an invoice says, as data. A full VAT invoice (regulation 14 of the VAT Regulations 1995) from a firm that
is registered; from one that is not, an invoice on which the tax does not occur at all.
"""

from typing import Any

from app.documents.en16931 import terms_from
from app.documents.letterhead import letterhead_from
from app.documents.typesetting import day_from, money_from, number_from, span_from
from app.rules.invoices import InvoiceFacts, InvoiceLine, total_facts
from app.rules.letterheads import BankFacts
from app.rules.money import Adjustment, Totals, Vat, VatCategory, VatGroup, total_line, total_vat
from app.rules.vat_numbers import number_vat_printed
from app.rules.vat_rates import VatTreatment, number_vat_rate

#: Characters of item numbers below a line, few enough that how to pay stays on the page; the certificate lists all.
_MOST_NUMBERS = 70


def invoice_from(facts: InvoiceFacts) -> dict[str, Any]:
    """Give all that the invoice says; every value can be kept as JSON."""
    registered = facts.firm.vat_registered
    totals = total_facts(facts)
    notices = _notices(facts, totals) if registered else []
    return {
        "paper": "invoice",
        "title": "Invoice",
        "number": facts.number,
        "issued_on": facts.issued_on.isoformat(),
        "letterhead": letterhead_from(facts.firm),
        "registered": registered,
        "customer": {
            "name": facts.customer.name,
            "address": [line for line in facts.customer.address if line.strip()],
            "contact": facts.customer.contact,
        },
        "premises": _premises(facts),
        "particulars": _particulars(facts),
        "work": facts.work,
        "lines": [_line(line, registered) for line in facts.lines],
        "adjustments": [_adjustment(adjustment, registered) for adjustment in facts.adjustments],
        "groups": [_group(group) for group in totals.groups] if registered else [],
        "sums": _sums(totals, registered),
        "due": {"amount": money_from(totals.due), "day": day_from(facts.due_on), "owed": totals.due > 0},
        "totals": _kept(totals, registered),
        "notices": notices,
        "payment": _payment(facts),
        "terms": facts.terms,
        "note": facts.note,
        "terms_en16931": terms_from(facts, totals, [facts.work, *notices, facts.note]),
    }


def _particulars(facts: InvoiceFacts) -> list[list[str]]:
    tax_point = facts.tax_point or facts.supplied_on
    pairs = [["Invoice date", day_from(facts.issued_on)]]
    if facts.firm.vat_registered:
        pairs.append(["Date of supply", span_from(facts.supplied_from or facts.supplied_on, facts.supplied_on)])
        if tax_point != facts.supplied_on:
            pairs.append(["Tax point", day_from(tax_point)])
        pairs.append(["VAT number", number_vat_printed(facts.firm.vat_number) or facts.firm.vat_number])
    else:
        pairs.append(["Work finished", span_from(facts.supplied_from or facts.supplied_on, facts.supplied_on)])
    pairs += [
        ["Payment due", day_from(facts.due_on)],
        ["Your reference", facts.customer_reference],
        ["Certificate", ", ".join(facts.certificate_numbers)],
        ["Quote", ", ".join(facts.quote_numbers)],
        ["Account", facts.customer.account],
    ]
    if facts.firm.vat_registered and facts.customer.vat_number:
        pairs.append(["Your VAT number", facts.customer.vat_number])
    return [pair for pair in pairs if pair[1]]


def _premises(facts: InvoiceFacts) -> list[str]:
    if facts.premises is None:
        return []
    return [line for line in (facts.premises.name, *facts.premises.address) if line.strip()]


def _line(line: InvoiceLine, registered: bool) -> dict[str, Any]:
    net = total_line(line.priced)
    per = "" if line.base_quantity == 1 else f" for {number_from(line.base_quantity)}"
    return {
        "text": line.text,
        "items": _item_numbers(line.item_numbers),
        "quantity": number_from(line.quantity),
        "unit": line.unit,
        "price": money_from(line.price) + per,
        "rate": _rate(line.vat) if registered else "",
        "net": money_from(net),
        "adjustments": [
            f"{adjustment.reason or ('Charge' if adjustment.charge else 'Allowance')}: {_signed(adjustment)}"
            for adjustment in line.adjustments
        ],
        "BT-131": str(net),
        "basis": line.basis.value,
        "kind": line.kind.value if line.kind else "",
        "item_numbers": list(line.item_numbers),
    }


def _adjustment(adjustment: Adjustment, registered: bool) -> dict[str, str]:
    return {
        "text": adjustment.reason or ("Charge" if adjustment.charge else "Allowance"),
        "rate": _rate(adjustment.vat) if registered and adjustment.vat else "",
        "net": _signed(adjustment),
    }


def _signed(adjustment: Adjustment) -> str:
    return money_from(adjustment.amount if adjustment.charge else -adjustment.amount)


def _rate(vat: Vat) -> str:
    if vat.category == VatCategory.STANDARD and vat.rate is not None:
        return f"{number_from(vat.rate)}%"
    return vat.category.word


def _group(group: VatGroup) -> dict[str, str]:
    return {
        "rate": _rate(Vat(group.category, group.rate)),
        "net": money_from(group.taxable),
        "vat": money_from(group.tax),
    }


def _sums(totals: Totals, registered: bool) -> list[list[str]]:
    """The steps from the lines to what is to pay, each only where it says something."""
    sums: list[list[str]] = []
    if totals.allowances or totals.charges:
        sums.append(["Sum of lines", money_from(totals.lines)])
        if totals.allowances:
            sums.append(["Allowances", money_from(-totals.allowances)])
        if totals.charges:
            sums.append(["Charges", money_from(totals.charges)])
    if registered:
        sums += [["Total without VAT", money_from(totals.net)], ["VAT", money_from(totals.vat)]]
    if totals.paid or totals.rounding:
        sums.append(["Total with VAT" if registered else "Total", money_from(totals.gross)])
    if totals.paid:
        sums.append(["Already paid", money_from(-totals.paid)])
    if totals.rounding:
        sums.append(["Rounding", money_from(totals.rounding)])
    more = totals.paid or totals.rounding
    sums.append(["To pay" if more else "Total to pay", money_from(totals.due)])
    return sums


def _kept(totals: Totals, registered: bool) -> dict[str, str]:
    """The totals as plain numbers by business term, for exports and checks; no tax where there is none."""
    kept = {
        "BT-106": totals.lines,
        "BT-107": totals.allowances,
        "BT-108": totals.charges,
        "BT-109": totals.net,
        "BT-110": totals.vat,
        "BT-112": totals.gross,
        "BT-113": totals.paid,
        "BT-114": totals.rounding,
        "BT-115": totals.due,
    }
    return {term: str(amount) for term, amount in kept.items() if registered or term != "BT-110"}


def _notices(facts: InvoiceFacts, totals: Totals) -> list[str]:
    """What the law wants said about lines that carry no VAT."""
    notices = []
    for group in totals.groups:
        if group.category == VatCategory.REVERSE_CHARGE:
            standard = number_vat_rate(VatTreatment.STANDARD, facts.tax_point or facts.supplied_on)
            owed = money_from(total_vat(group.taxable, standard.rate))
            notices.append(
                f"Reverse charge: the customer accounts to HMRC for the VAT of {owed} at {_rate(standard)} "
                f"on {money_from(group.taxable)}. It is not part of the total."
            )
        if group.category == VatCategory.EXEMPT:
            notices.append(f"{money_from(group.taxable)} is exempt from VAT.")
    return notices


def _payment(facts: InvoiceFacts) -> list[list[str]]:
    bank = facts.firm.bank or BankFacts("")
    pairs = [
        ["Account name", bank.account_name],
        ["Sort code", bank.sort_code],
        ["Account number", bank.account_number],
        ["Bank", bank.bank_name],
        ["IBAN", bank.iban],
    ]
    said = [pair for pair in pairs if pair[1]]
    return [*said, ["Reference", facts.payment_reference or facts.number]] if said else []


def _item_numbers(numbers: tuple[str, ...]) -> str:
    """Name the items a line charges for, runs drawn together: "Items 0001 to 0012, 0014"."""
    if not numbers:
        return ""
    runs: list[list[str]] = []
    for number in sorted(set(numbers), key=lambda text: (len(text), text)):
        last = runs[-1][-1] if runs else ""
        if last.isdigit() and number.isdigit() and len(last) == len(number) and int(number) == int(last) + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    parts = [run[0] if len(run) == 1 else f"{run[0]}{' to ' if len(run) > 2 else ', '}{run[-1]}" for run in runs]
    text, shown = "", 0
    for part in parts:
        if shown and len(text) + len(part) > _MOST_NUMBERS:
            break
        text, shown = f"{text}, {part}" if shown else part, shown + 1
    more = sum(len(run) for run in runs[shown:])
    tail = f" and {more:,} more" if more else ""
    return f"{'Item' if len(numbers) == 1 else 'Items'} {text}{tail}"
