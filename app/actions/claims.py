"""Claiming interest and the fixed sum for late payment, on a person's word only; and withdrawing a claim."""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk
from app.actions.money_papers import MoneyPaper, finish_money_paper, finish_pending_money_papers, open_money_paper
from app.actions.paper_codes import keep_code
from app.actions.payments import release_excess
from app.documents.claim import claim_from
from app.rules.customers import CustomerKind
from app.rules.late_payments import (
    LateClaim,
    LateClaimFacts,
    may_claim_late_payment,
    number_late_claim,
    number_rate_day,
    total_late_claim,
)
from app.rules.money import ZERO, convert_to_pence
from app.rules.people import Person
from app.rules.verdicts import Mistakes, Refused
from app.store.accounts import facts_of_late_debt
from app.store.base_rates import BaseRateRow, find_base_rate
from app.store.claims import ClaimRow, get_claim, list_pending_claims
from app.store.firms import get_firm, next_in_series
from app.store.invoices import InvoiceRow, get_invoice
from app.store.paper_facts import facts_of_customer

KIND = MoneyPaper("claim", get_claim, list_pending_claims)


@dataclass(frozen=True)
class ClaimPreview:
    """What could be claimed today, as it would be printed; or why not."""

    why_not: str = ""
    rate_day: date | None = None
    claim: LateClaim | None = None
    paper: dict[str, Any] | None = None


def preview_claim(session: Session, row: InvoiceRow, today: date) -> ClaimPreview:
    """Work out what could be claimed for an invoice today, charging nothing."""
    due_on = row.due_on or today
    if row.state != "issued":
        return ClaimPreview("Only an issued invoice can be late.")
    if why_not := may_claim_late_payment(CustomerKind(row.customer.kind), due_on, today):
        return ClaimPreview(why_not)
    rate_day = number_rate_day(date.fromordinal(due_on.toordinal() + 1))
    rate = find_base_rate(session, rate_day)
    if rate is None:
        return ClaimPreview("The base rate of that day is not entered yet.", rate_day)
    facts = _facts(session, row, rate, today, "")
    if facts.claim.total <= 0:
        return ClaimPreview("Nothing is left to claim: everything up to today is claimed, or nothing was paid late.")
    return ClaimPreview(claim=facts.claim, paper=claim_from(facts))


def claim_late_payment(
    desk: Desk, person: Person, invoice_id: int, interest: bool, fixed_sum: bool, seen: Decimal | None = None
) -> int:
    """Claim interest, the fixed sum, or both, and make the paper; gives the claim's id. Raises Mistakes for neither.

    seen: the total that the person has read.
    """
    with desk.doing(person) as deed:
        claim_id = _freeze(deed, person, invoice_id, interest, fixed_sum, seen, desk.public_address)
    finish_claim(desk, person, claim_id)
    return claim_id


def _freeze(
    deed: Deed, person: Person, invoice_id: int, interest: bool, fixed_sum: bool, seen: Decimal | None, address: str
) -> int:
    session = deed.session
    invoice = get_invoice(session, invoice_id, locked=True)
    session.expire(invoice, ["shares", "credit_notes", "claims"])
    preview = preview_claim(session, invoice, deed.today)
    if preview.claim is None:
        raise Refused(preview.why_not)
    rate = find_base_rate(session, preview.claim.rate_day)
    number = number_late_claim(next_in_series(session, "late-claim"))
    if rate is None:
        raise Refused("The base rate of that day is not entered yet.")
    facts = _facts(session, invoice, rate, deed.today, number)
    claim = replace(
        facts.claim,
        interest=facts.claim.interest if interest else ZERO,
        spans=facts.claim.spans if interest else (),
        fixed_sum=facts.claim.fixed_sum if fixed_sum else ZERO,
    )
    if claim.total <= 0:
        raise Mistakes({"": "Choose what to claim: the interest, the fixed sum, or both."})
    if seen is not None and seen != facts.claim.total:
        raise Refused("What can be claimed has changed since you opened the page. Look at it again.")
    facts = replace(facts, claim=claim)
    row = ClaimRow(
        number=number,
        customer_id=invoice.customer_id,
        invoice_id=invoice.id,
        state="pending",
        issued_on=deed.today,
        until=claim.until,
        issued_at=deed.now,
        issued_by_id=person.id,
        interest_pence=convert_to_pence(claim.interest),
        fixed_pence=convert_to_pence(claim.fixed_sum),
        data=claim_from(facts),
        file_name=f"{number}.pdf",
        withdrawn_reason="",
    )
    session.add(row)
    session.flush()
    row.data = keep_code(deed, "claim", row.id, row.data, address)
    deed.note("invoice", invoice.id, f"Claimed £{claim.total:,.2f} for late payment by {number}.")
    return row.id


def finish_claim(desk: Desk, person: Person | None, claim_id: int) -> None:
    """Draw a pending claim, keep the file, and mark it issued with its hash."""
    finish_money_paper(desk, person, KIND, claim_id)


def finish_pending_claims(desk: Desk) -> int:
    """Draw every claim that a crash left pending; gives their number."""
    return finish_pending_money_papers(desk, KIND)


def open_claim(desk: Desk, row: ClaimRow) -> bytes:
    """The PDF of an issued claim, checked against its hash."""
    return open_money_paper(desk, KIND, row)


def withdraw_claim(deed: Deed, claim_id: int, reason: str) -> ClaimRow:
    """Withdraw a claim; it keeps its number, and what was paid on it is held as credit. Raises Mistakes."""
    invoice = get_invoice(deed.session, get_claim(deed.session, claim_id).invoice_id, locked=True)
    row = get_claim(deed.session, claim_id, locked=True)
    if row.withdrawn_on is not None:
        raise Refused("This claim is withdrawn already.")
    if not reason.strip():
        raise Mistakes({"reason": "Say why it is withdrawn; the journal keeps the reason."})
    row.withdrawn_on, row.withdrawn_reason = deed.today, reason.strip()
    deed.note("invoice", invoice.id, f"Withdrew the claim {row.number}: {reason.strip()}")
    release_excess(deed, invoice)
    return row


def _facts(session: Session, row: InvoiceRow, rate: BaseRateRow, today: date, number: str) -> LateClaimFacts:
    debt, settled = facts_of_late_debt(row)
    standing = [claim for claim in row.claims if claim.withdrawn_on is None]
    since = max((claim.until for claim in standing if claim.interest_pence), default=None)
    first = not any(claim.fixed_pence for claim in standing)
    due_on = row.due_on or today
    claim = total_late_claim(debt, settled, due_on, today, rate.percent, since, with_fixed_sum=first)
    return LateClaimFacts(
        number=number,
        firm=get_firm(session).facts,
        customer=facts_of_customer(row.customer, row.visit.premises),
        issued_on=today,
        invoice_number=row.number or "",
        invoice_issued_on=row.issued_on or today,
        claim=claim,
        rate_from=rate.valid_from,
        source=rate.source,
    )
