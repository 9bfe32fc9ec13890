"""Making quotes, issuing them as papers, recording the answer, and booking the visit that was agreed."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk, check_version, say_day
from app.actions.money_papers import MoneyPaper, finish_money_paper, finish_pending_money_papers, open_money_paper
from app.actions.paper_codes import keep_code
from app.documents.quote import quote_from
from app.rules.invoices import number_invoice
from app.rules.money import convert_to_pence
from app.rules.people import Person
from app.rules.prices import convert_agreement
from app.rules.quotes import (
    VALID_DAYS_USUAL,
    Answer,
    QuoteState,
    check_counts,
    may_answer_quote,
    may_issue_quote,
    next_last_day,
    total_quote,
)
from app.rules.verdicts import Mistakes, Refused
from app.store.firms import get_firm, next_in_series
from app.store.premises import get_premises
from app.store.quote_facts import facts_for_quote
from app.store.quotes import QuoteRow, get_quote, list_pending_quotes
from app.store.visits import get_visit

KIND = MoneyPaper("quote", get_quote, list_pending_quotes)


def draft_quote(
    deed: Deed,
    premises_id: int,
    counts: Mapping[str, int] | None = None,
    valid_days: int = VALID_DAYS_USUAL,
    note: str = "",
    due_until: date | None = None,
) -> QuoteRow:
    """Draft a quote for premises. counts: how many items of each kind are reckoned with; None: those on the register.

    due_until: of those on the register only what a visit serves that is made for what falls due up to this day. Raises
    Mistakes.
    """
    premises = get_premises(deed.session, premises_id)
    row = QuoteRow(customer=premises.customer, premises=premises, made_at=deed.now, state="draft", version=1)
    _fill(deed, row, counts, valid_days, note, due_until)
    deed.session.add(row)
    deed.session.flush()
    deed.note("quote", row.id, f"Drafted a quote for {premises.customer.name}, {premises.name}.")
    return row


def change_quote(
    deed: Deed,
    quote_id: int,
    counts: Mapping[str, int] | None,
    valid_days: int,
    note: str = "",
    version: int | None = None,
    due_until: date | None = None,
) -> QuoteRow:
    """Change a draft. Raises Mistakes; refuses after issue."""
    row = _draft(deed, quote_id, version)
    _fill(deed, row, counts, valid_days, note, due_until)
    deed.session.flush()
    deed.note("quote", row.id, "Changed the draft.")
    return row


def discard_quote(deed: Deed, quote_id: int, version: int | None = None) -> int:
    """Throw a draft away; gives the id of its premises. A draft has no number to lose."""
    row = _draft(deed, quote_id, version)
    deed.session.delete(row)
    deed.note("quote", quote_id, f"Discarded the draft for {row.premises.name}.")
    return row.premises_id


def preview_quote(session: Session, row: QuoteRow, today: date) -> tuple[dict[str, Any], tuple[str, ...]]:
    """What a draft would print if it were issued today, and the sentences that stand against issuing it."""
    facts = facts_for_quote(session, row, today)
    return quote_from(facts), may_issue_quote(facts)


def issue_quote(desk: Desk, person: Person, quote_id: int, version: int | None = None) -> None:
    """Number and freeze a draft with the prices of today, and make its paper. Refuses with what stands against it."""
    with desk.doing(person) as deed:
        row = get_quote(deed.session, quote_id, locked=True)
        if row.state == "issued":
            raise Refused(f"This quote is issued: {row.number}. Make a new one instead of changing it.")
        if row.state == "draft":
            check_version(row, version, "this draft")
            _freeze(deed, row, person, desk.public_address)
    finish_quote(desk, person, quote_id)


def finish_quote(desk: Desk, person: Person | None, quote_id: int) -> None:
    """Draw a pending quote, keep the file, and mark it issued with its hash."""
    finish_money_paper(desk, person, KIND, quote_id)


def finish_pending_quotes(desk: Desk) -> int:
    """Draw every quote that a crash left pending; gives their number."""
    return finish_pending_money_papers(desk, KIND)


def open_quote(desk: Desk, row: QuoteRow) -> bytes:
    """The PDF of an issued quote, checked against its hash."""
    return open_money_paper(desk, KIND, row)


def answer_quote(deed: Deed, quote_id: int, answer: Answer, on: date, by: str) -> QuoteRow:
    """Record what the customer said, on which day and who said it. Raises Mistakes."""
    row = get_quote(deed.session, quote_id, locked=True)
    if row.issued_on is None or row.valid_until is None or row.state != "issued":
        raise Refused("Only an issued quote can be answered.")
    mistakes = {}
    if on > deed.today:
        mistakes["answered_on"] = "This day has not come yet."
    if not by.strip():
        mistakes["answered_by"] = "Say who gave the answer."
    if mistakes:
        raise Mistakes(mistakes)
    if sentence := may_answer_quote(row.state_on(deed.today), answer, on, row.issued_on, row.valid_until):
        raise Refused(sentence)
    row.answer, row.answered_on, row.answered_by = answer.value, on, by.strip()
    deed.session.flush()
    deed.note("quote", row.id, f"{by.strip()} {answer.value} quote {row.number} on {say_day(on)}.")
    return row


def book_from_quote(deed: Deed, quote_id: int, visit_id: int) -> QuoteRow:
    """Say that a visit was booked from an accepted quote, so that it is invoiced at the prices of the quote."""
    row = get_quote(deed.session, quote_id, locked=True)
    state = row.state_on(deed.today)
    if state == QuoteState.BOOKED:
        raise Refused(f"A visit is booked from quote {row.number} already.")
    if state != QuoteState.ACCEPTED:
        raise Refused(f"A visit is booked from a quote that is accepted; this one is {state.value}.")
    visit = get_visit(deed.session, visit_id)
    if visit.premises_id != row.premises_id:
        raise Refused("The quote is for other premises.")
    row.visit_id = visit.id
    deed.session.flush()
    deed.note("quote", row.id, f"Booked visit {visit.id} from quote {row.number}.")
    return row


def _freeze(deed: Deed, row: QuoteRow, person: Person, address: str) -> None:
    firm = get_firm(deed.session)
    row.issued_on, row.issued_by_id = deed.today, person.id
    row.valid_until = next_last_day(deed.today, row.valid_days)
    row.number = number_invoice(next_in_series(deed.session, "quote"), firm.quote_prefix)
    facts = facts_for_quote(deed.session, row, deed.today)
    if against := may_issue_quote(facts):
        raise Refused(" ".join(against))
    totals = total_quote(facts)
    row.net_pence, row.vat_pence, row.gross_pence = (
        convert_to_pence(value) for value in (totals.net, totals.vat, totals.gross)
    )
    row.agreement = convert_agreement(facts.agreement)
    row.data = keep_code(deed, "quote", row.id, quote_from(facts), address)
    row.state, row.file_name = "pending", f"{row.number}.pdf"
    deed.note("quote", row.id, f"Gave the number {row.number} to the quote for {row.premises.name}.")


def _draft(deed: Deed, quote_id: int, version: int | None) -> QuoteRow:
    row = get_quote(deed.session, quote_id, locked=True)
    if row.state != "draft":
        raise Refused(f"Quote {row.number} is issued and does not change. Make a new one.")
    check_version(row, version, "this draft")
    return row


def _fill(
    deed: Deed, row: QuoteRow, counts: Mapping[str, int] | None, valid_days: int, note: str, due_until: date | None
) -> None:
    mistakes = check_counts(counts) if counts is not None else {}
    try:
        next_last_day(deed.today, valid_days)
    except ValueError as problem:
        mistakes["valid_days"] = str(problem)
    if mistakes:
        raise Mistakes(mistakes)
    row.counts = {kind: count for kind, count in (counts or {}).items() if count}
    row.due_until = due_until if counts is None else None
    row.valid_days, row.note = valid_days, note.strip()
