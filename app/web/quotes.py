"""Quotes: the list, drafting one for premises, looking it over, issuing it, its answer and its PDF."""

from datetime import date
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.quotes import (
    answer_quote,
    change_quote,
    discard_quote,
    draft_quote,
    issue_quote,
    open_quote,
    preview_quote,
)
from app.rules.equipment import Kind
from app.rules.file_names import suggest_file_name
from app.rules.quotes import ANY_KIND, VALID_DAYS_MOST, VALID_DAYS_USUAL, Answer, QuoteState
from app.rules.verdicts import Mistakes, Refused
from app.store.premises import PremisesRow, get_premises, list_premises
from app.store.quote_facts import list_register_items
from app.store.quotes import QuoteRow, count_quotes, get_quote, list_quotes
from app.web.fields import Form
from app.web.filters import show_date, show_plural
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page, pdf

routes = APIRouter()
PAGE = 50
REGISTER, DUE, GUESS = "register", "due", "guess"


@routes.get("/quotes")
def list_all_quotes(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    search, start = asked.text("q"), asked.whole("from", 1) or 1
    found = list_quotes(session, search=search, limit=PAGE, offset=start - 1)
    return page(
        request,
        "quotes/list.html",
        quotes=[(row, row.state_on(desk.today)) for row in found],
        search=search,
        first=start,
        size=PAGE,
        total=count_quotes(session, search=search),
    )


@routes.get("/quotes/new")
def new_quote(request: Request, session: Reading, asked: Asked) -> Response:
    premises_id = asked.whole("premises", 1, 2**31)
    if premises_id is None:
        words = asked.text("q").casefold().split()
        places = [
            row
            for row in list_premises(session)
            if all(word in f"{row.customer.name} {row.name} {row.postcode}".casefold() for word in words)
        ]
        return page(request, "quotes/new_place.html", places=places, search=asked.text("q"))
    premises = get_premises(session, premises_id)
    known = len(list_register_items(session, premises.id))
    due_until = asked.day("due") if known else None
    source = DUE if due_until else REGISTER if known else GUESS
    form = Form.showing(source=source, due_until=due_until, valid_days=VALID_DAYS_USUAL)
    return page(request, "quotes/new.html", form=form, **_choices(session, premises, due_until))


@routes.post("/quotes")
def save_new_quote(request: Request, deed: Doing, sent: Sent) -> Response:
    premises = get_premises(deed.session, sent.needed_whole("premises_id", "Choose the premises."))
    try:
        counts, valid_days, note, due_until = _details_from(sent)
        row = draft_quote(deed, premises.id, counts, valid_days, note, due_until)
    except Mistakes as wrong:
        context = _choices(deed.session, premises, sent.day("due_until"))
        raise ask_again(request, "quotes/new.html", sent, wrong, **context) from wrong
    return go(f"/quotes/{row.id}")


@routes.get("/quotes/{quote_id}")
def show_quote(request: Request, session: Reading, desk: TheDesk, quote_id: int) -> Response:
    row = get_quote(session, quote_id)
    contact = row.customer.contacts[0].name if row.customer.contacts else ""
    form = Form.showing(answer=Answer.ACCEPTED.value, answered_on=desk.today, answered_by=contact)
    return page(request, "quotes/show.html", form=form, **_shown(session, desk, row))


@routes.get("/quotes/{quote_id}/edit")
def edit_quote(request: Request, session: Reading, quote_id: int) -> Response:
    row = get_quote(session, quote_id)
    _refuse_issued(row)
    counts = {f"count_{kind}": count for kind, count in row.counts.items()}
    source = GUESS if row.counts else DUE if row.due_until else REGISTER
    form = Form.showing(
        version=row.version,
        source=source,
        due_until=row.due_until,
        valid_days=row.valid_days,
        note=row.note,
        **counts,
    )
    return page(request, "quotes/edit.html", form=form, quote=row, **_choices(session, row.premises, row.due_until))


@routes.post("/quotes/{quote_id}")
def save_quote(request: Request, deed: Doing, sent: Sent, quote_id: int) -> Response:
    row = get_quote(deed.session, quote_id)
    _refuse_issued(row)
    try:
        counts, valid_days, note, due_until = _details_from(sent)
        change_quote(deed, quote_id, counts, valid_days, note, sent.version(), due_until)
    except Mistakes as wrong:
        context = _choices(deed.session, row.premises, sent.day("due_until")) | {"quote": row}
        raise ask_again(request, "quotes/edit.html", sent, wrong, **context) from wrong
    return go(f"/quotes/{quote_id}")


@routes.post("/quotes/{quote_id}/discard")
def remove_quote(deed: Doing, sent: Sent, quote_id: int) -> Response:
    return go(f"/premises/{discard_quote(deed, quote_id, sent.version())}")


@routes.post("/quotes/{quote_id}/issue")
def save_quote_issue(desk: TheDesk, person: ThePerson, sent: Sent, quote_id: int) -> Response:
    issue_quote(desk, person, quote_id, sent.version())
    return go(f"/quotes/{quote_id}")


@routes.post("/quotes/{quote_id}/answer")
def save_answer(request: Request, desk: TheDesk, deed: Doing, sent: Sent, quote_id: int) -> Response:
    row = get_quote(deed.session, quote_id)
    try:
        answer = sent.choice("answer", Answer)
        on = sent.day("answered_on", needed="Say on which day the answer came.")
        by = sent.text("answered_by", 100, needed="Say who gave the answer.")
        sent.done()
        answer_quote(deed, quote_id, answer, on or deed.today, by)
    except Mistakes as wrong:
        raise ask_again(request, "quotes/show.html", sent, wrong, **_shown(deed.session, desk, row)) from wrong
    return go(f"/quotes/{quote_id}")


@routes.get("/quotes/{quote_id}/paper.pdf")
def download_quote(session: Reading, desk: TheDesk, quote_id: int) -> Response:
    row = get_quote(session, quote_id)
    content = open_quote(desk, row)
    return pdf(content, suggest_file_name("quote", row.number or "", row.customer.name, row.issued_on or desk.today))


def _refuse_issued(row: QuoteRow) -> None:
    if row.state != "draft":
        raise Refused(f"Quote {row.number} is issued and does not change. Make a new one.")


def _details_from(sent: Form) -> tuple[dict[str, int] | None, int, str, date | None]:
    """The counts (None: as on the register), the days it is valid, the note, and up to which day things fall due."""
    valid_days = sent.whole("valid_days", 1, VALID_DAYS_MOST)
    if valid_days is None:
        sent.blame("valid_days", "Say for how many days the quote is valid.")
    counts: dict[str, int] | None = None
    due_until = sent.day("due_until") if sent.value("source") == DUE else None
    if sent.value("source") == DUE and due_until is None:
        sent.blame("source", "Choose the register or an estimate.")
    if sent.value("source") not in (REGISTER, DUE):
        counts = {kind: sent.whole(f"count_{kind}", 0, 20_000) or 0 for kind in (ANY_KIND, *Kind)}
    note = sent.lines("note")
    sent.done()
    return counts, valid_days or VALID_DAYS_USUAL, note, due_until


def _choices(session: Session, premises: PremisesRow, due_until: date | None = None) -> dict[str, Any]:
    known = len(list_register_items(session, premises.id))
    sources = [(REGISTER, f"The register: {show_plural(known, 'item')}")] if known else []
    if due_until is not None:
        served = len(list_register_items(session, premises.id, due_until))
        sources.insert(0, (DUE, f"What falls due by {show_date(due_until)}: {show_plural(served, 'item')}"))
    return {
        "premises": premises,
        "sources": [*sources, (GUESS, "An estimate of the number")],
        "any_kind": ANY_KIND,
        "kinds": list(Kind),
    }


def _shown(session: Session, desk: TheDesk, row: QuoteRow) -> dict[str, Any]:
    """What the page of one quote shows. A draft is shown as it would be printed today."""
    refused = ""
    paper: dict[str, Any] | None = row.data
    against: tuple[str, ...] = ()
    if paper is None:
        try:
            paper, against = preview_quote(session, row, desk.today)
        except Refused as nothing:
            refused = nothing.sentence
    state = row.state_on(desk.today)
    return {
        "quote": row,
        "paper": paper,
        "against": [refused] if refused else against,
        "state": state,
        "is_draft": state == QuoteState.DRAFT,
        "may_answer": state in (QuoteState.OPEN, QuoteState.EXPIRED) and row.state == "issued",
        "answers": [(each.value, each.value.capitalize()) for each in Answer],
    }
