"""A claim for late payment as data: the sum, how it was worked out, and from which rates and days."""

from typing import Any

from app.documents.letterhead import letterhead_from
from app.documents.typesetting import count_from, day_from, money_from, number_from
from app.rules.late_payments import STATUTORY_POINTS, LateClaim, LateClaimFacts

BASIS = "Late Payment of Commercial Debts (Interest) Act 1998"


def claim_from(facts: LateClaimFacts) -> dict[str, Any]:
    """Give all that the claim says; every value can be kept as JSON."""
    claim, bank = facts.claim, facts.firm.bank
    pairs = [
        ["Date", day_from(facts.issued_on)],
        ["For invoice", facts.invoice_number],
        ["Invoice date", day_from(facts.invoice_issued_on)],
        ["Payment was due", day_from(claim.due_on)],
    ]
    account = (
        [["Account name", bank.account_name], ["Sort code", bank.sort_code], ["Account number", bank.account_number]]
        if bank
        else []
    )
    return {
        "paper": "claim",
        "title": "Claim for late payment",
        "number": facts.number,
        "issued_on": facts.issued_on.isoformat(),
        "letterhead": letterhead_from(facts.firm),
        "customer": {
            "name": facts.customer.name,
            "address": [line for line in facts.customer.address if line.strip()],
            "contact": facts.customer.contact,
        },
        "particulars": pairs,
        "opening": f"Invoice {facts.invoice_number} was due on {day_from(claim.due_on)} and was not paid by then. "
        f"Under the {BASIS} we claim the following.",
        "spans": spans_from(claim),
        "rate": rate_sentence_from(claim, facts),
        "sums": [
            *([["Interest", money_from(claim.interest)]] if claim.interest else []),
            *([["Fixed sum", money_from(claim.fixed_sum)]] if claim.fixed_sum else []),
            ["Total claimed", money_from(claim.total)],
        ],
        "note": "This is in addition to what is still to be paid on the invoice itself. "
        "Interest and the fixed sum are not for a supply.",
        "payment": [*[pair for pair in account if pair[1]], *([["Reference", facts.number]] if account else [])],
    }


def spans_from(claim: LateClaim) -> list[dict[str, str]]:
    """Give each run of days with its own working."""
    return [
        {
            "days": f"{day_from(span.starts_on)} to {day_from(span.ends_on)}"
            if span.days > 1
            else day_from(span.starts_on),
            "count": count_from(span.days, "day", "days"),
            "debt": money_from(span.debt),
            "working": f"{money_from(span.debt)} × {number_from(claim.rate)} % × {span.days:,} ÷ 365",
        }
        for span in claim.spans
    ]


def rate_sentence_from(claim: LateClaim, facts: LateClaimFacts) -> str:
    """Say which rate holds and why."""
    return (
        f"Rate: {number_from(STATUTORY_POINTS)} % over the Bank of England's base rate in force on "
        f"{day_from(claim.rate_day)}, which was {number_from(claim.base_rate)} % (since {day_from(facts.rate_from)}; "
        f"source: {facts.source}), together {number_from(claim.rate)} % a year, simple interest by the day, "
        "rounded once at the end."
    )
