"""A customer's statement of account as data: opening, every movement, closing, and what is owed by age."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from app.documents.letterhead import letterhead_from
from app.documents.typesetting import day_from, money_from, short_day_from
from app.rules.certificates import CustomerFacts
from app.rules.letterheads import FirmFacts
from app.rules.money import convert_from_pence
from app.rules.statements import Age, Movement, Statement


@dataclass(frozen=True)
class StatementFacts:
    """Everything a statement says."""

    firm: FirmFacts
    customer: CustomerFacts
    statement: Statement
    made_on: date


def statement_from(facts: StatementFacts) -> dict[str, Any]:
    """Give all that the statement says; every value can be kept as JSON."""
    told = facts.statement
    bank = facts.firm.bank
    return {
        "paper": "statement",
        "title": "Statement of account",
        "number": "",
        "issued_on": facts.made_on.isoformat(),
        "letterhead": letterhead_from(facts.firm),
        "customer": {
            "name": facts.customer.name,
            "address": [line for line in facts.customer.address if line.strip()],
            "contact": facts.customer.contact,
        },
        "particulars": [
            ["From", day_from(told.starts_on)],
            ["To", day_from(told.ends_on)],
            ["Made on", day_from(facts.made_on)],
        ],
        "opening": _pounds(told.opening_pence),
        "closing": _pounds(told.closing_pence),
        "in_credit": told.closing_pence < 0,
        "lines": [
            {
                "day": short_day_from(line.entry.day),
                "what": line.entry.movement.value.capitalize(),
                "text": line.entry.text,
                "due": f"due {short_day_from(line.entry.due_on)}" if line.entry.due_on else "",
                "raised": _pounds(line.entry.signed_pence) if line.entry.signed_pence >= 0 else "",
                "settled": _pounds(line.entry.pence) if line.entry.signed_pence < 0 else "",
                "balance": _pounds(line.balance_pence),
            }
            for line in told.lines
        ],
        "totals": [
            ["Invoices", _pounds(told.total_pence(Movement.INVOICE))],
            ["Credit notes", _pounds(told.total_pence(Movement.CREDIT_NOTE))],
            ["Payments", _pounds(told.total_pence(Movement.PAYMENT))],
        ],
        "ages": [[age.value.capitalize(), _pounds(told.ageing.by_age[age])] for age in Age],
        "held": _pounds(told.ageing.held_pence) if told.ageing.held_pence else "",
        "open": [
            {"number": number, "due": short_day_from(due_on), "late": due_on < told.ends_on, "owed": _pounds(owed)}
            for number, due_on, owed in told.open_invoices
        ],
        "payment": [
            pair
            for pair in (
                ["Account name", bank.account_name],
                ["Sort code", bank.sort_code],
                ["Account number", bank.account_number],
            )
            if pair[1]
        ]
        if bank and told.closing_pence > 0
        else [],
    }


def _pounds(pence: int) -> str:
    return money_from(convert_from_pence(pence))
