"""Quotes: what one says, where it stands, when it can be issued and answered. A quote charges nothing."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

from app.rules.certificates import CustomerFacts, PremisesFacts
from app.rules.discounts import list_document_allowances
from app.rules.equipment import Kind
from app.rules.letterheads import FirmFacts, list_missing_particulars
from app.rules.money import Adjustment, Totals, Vat, total_invoice
from app.rules.priced_lines import InvoiceLine, list_visit_lines
from app.rules.prices import PriceAgreement, VisitItem

VALID_DAYS_USUAL = 30
VALID_DAYS_MOST = 365
ITEMS_MOST = 20_000
#: The group of items of which only the number is known.
ANY_KIND = "any"


class QuoteState(StrEnum):
    DRAFT = "draft"
    OPEN = "open"
    EXPIRED = "expired"
    ACCEPTED = "accepted"
    BOOKED = "booked"
    DECLINED = "declined"


class Answer(StrEnum):
    """What the customer said."""

    ACCEPTED = "accepted"
    DECLINED = "declined"


@dataclass(frozen=True)
class QuoteFacts:
    """Everything a quote says. from_register: the items are those on record; else their number is a guess.

    due_until: of those on record only what falls due up to this day, and what waits for a test without a date.
    """

    number: str
    firm: FirmFacts
    customer: CustomerFacts
    premises: PremisesFacts
    issued_on: date
    valid_until: date
    lines: tuple[InvoiceLine, ...]
    agreement: PriceAgreement
    item_count: int
    from_register: bool
    note: str = ""
    due_until: date | None = None

    @property
    def adjustments(self) -> tuple[Adjustment, ...]:
        """What the agreed discount takes off the whole."""
        return list_document_allowances(self.agreement.discount, [line.priced for line in self.lines])


def total_quote(facts: QuoteFacts) -> Totals:
    """Work out what a quote comes to."""
    return total_invoice([line.priced for line in facts.lines], facts.adjustments)


def list_quoted_items(counts: Mapping[str, int]) -> tuple[VisitItem, ...]:
    """List items that are only reckoned with, from how many there are of each kind; ANY_KIND: at the usual price."""
    items: list[VisitItem] = []
    for kind, count in counts.items():
        items += [VisitItem("", Kind.APPLIANCE if kind == ANY_KIND else Kind(kind))] * count
    return tuple(items)


def list_quote_lines(
    agreement: PriceAgreement, items: tuple[VisitItem, ...], vat: Vat, miles: Decimal | None = None
) -> tuple[InvoiceLine, ...]:
    """List the lines of a quote: as an invoice would charge if every item were tested at one visit."""
    return list_visit_lines(agreement, items, vat, miles=miles)


def check_counts(counts: Mapping[str, int]) -> dict[str, str]:
    """What is wrong with a guess of the number of items, by field name."""
    if not sum(counts.values()):
        return {f"count_{ANY_KIND}": "Say how many items there are, at least roughly."}
    if sum(counts.values()) > ITEMS_MOST:
        return {f"count_{ANY_KIND}": f"A quote reckons with at most {ITEMS_MOST:,} items."}
    return {}


def next_last_day(issued_on: date, days: int) -> date:
    """Give the last day on which a quote can be accepted."""
    if not 1 <= days <= VALID_DAYS_MOST:
        raise ValueError(f"A quote is valid for 1 to {VALID_DAYS_MOST} days.")
    return issued_on + timedelta(days=days)


def judge_quote(kept_state: str, answer: str, valid_until: date | None, booked: bool, today: date) -> QuoteState:
    """Say where a quote stands today. kept_state is what the store keeps: draft, pending or issued."""
    if kept_state == "draft":
        return QuoteState.DRAFT
    if booked:
        return QuoteState.BOOKED
    if answer:
        return QuoteState(answer)
    return QuoteState.EXPIRED if valid_until is not None and valid_until < today else QuoteState.OPEN


def may_issue_quote(facts: QuoteFacts) -> tuple[str, ...]:
    """Say what stands against issuing a quote, as sentences for the office; empty when nothing does."""
    against = list(list_missing_particulars(facts.firm))
    if not facts.lines:
        against.append("There is nothing to quote for: no item is on the register, and nothing is charged for a visit.")
    elif total_quote(facts).gross < 0:
        against.append("The total is below zero. Check the discount in the prices.")
    return tuple(against)


def may_answer_quote(state: QuoteState, answer: Answer, on: date, issued_on: date, valid_until: date) -> str | None:
    """Say why an answer cannot be recorded, or nothing when it can."""
    if state not in (QuoteState.OPEN, QuoteState.EXPIRED):
        return f"This quote is {state.value}; its answer stands."
    if on < issued_on:
        return "The answer cannot be older than the quote."
    if answer == Answer.ACCEPTED and on > valid_until:
        until = f"{valid_until.day} {valid_until:%B %Y}"
        return f"It could be accepted until {until}. Make a new quote at the prices of today."
    return None
