"""The journal: who did what, newest first."""

from fastapi import APIRouter, Request, Response

from app.store.journal import JournalRow, count_journal, list_journal_page, list_journal_subjects
from app.web.kit import Asked, Reading, page
from app.web.list_steps import show_place, show_steps

routes = APIRouter()

LINES = 50
#: Where the subject of a line can be seen.
PLACES = {
    "customer": "/customers/{}",
    "premises": "/premises/{}",
    "item": "/items/{}",
    "equipment type": "/equipment-types/{}/edit",
    "instrument": "/instruments/{}",
    "visit": "/visits/{}",
    "certificate": "/certificates/{}",
    "paper": "/papers/{}",
    "invoice": "/invoices/{}",
    "credit note": "/credit-notes/{}",
    "quote": "/quotes/{}",
    "claim": "/claims/{}/paper.pdf",
    "label sheet": "/label-sheets",
    "base rate": "/base-rates",
    "bank statement": "/bank-statements/{}",
    "bank line": "/bank-statements",
    "share link": "/share-links",
    "task": "/tasks/{}",
    "person": "/people/{}/edit",
    "calendar feed": "/calendars",
    "repeat agreement": "/repeat-agreements/{}",
    "firm": "/settings",
    "booking rules": "/booking-rules",
    "house limit": "/house-limits",
    "recall list": "/recalls",
}


@routes.get("/journal")
def list_lines(request: Request, session: Reading, asked: Asked) -> Response:
    subject, search = asked.text("subject"), asked.text("q")
    subject_id = asked.whole("id", 1, 2**31 - 1) if subject else None
    start = asked.whole("from", 1, 10**9) or 1
    found = list_journal_page(session, show_place(asked), LINES, subject, subject_id, search)
    steps = show_steps("/journal", asked, found, start, LINES)
    return page(
        request,
        "journal/list.html",
        lines=[(line, _place_of(line)) for line in found.rows],
        first=start,
        total=count_journal(session, subject, subject_id, search),
        before=steps.before,
        after=steps.after,
        subjects=[(word, word.capitalize()) for word in list_journal_subjects(session)],
        subject=subject,
        subject_id=subject_id or "",
        search=search,
    )


def _place_of(line: JournalRow) -> str:
    return PLACES.get(line.subject, "").format(line.subject_id)
