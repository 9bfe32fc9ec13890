"""The journal: who did what, newest first."""

from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response

from app.store.journal import JournalRow, count_journal, list_journal, list_journal_subjects
from app.web.kit import Asked, Reading, page

routes = APIRouter()

LINES = 50
PAGES_MOST = 100_000
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
    "person": "/people/{}/edit",
    "calendar feed": "/calendars",
    "repeat agreement": "/repeat-agreements/{}",
    "firm": "/settings",
    "booking rules": "/booking-rules",
    "house limit": "/house-limits",
}


@routes.get("/journal")
def list_lines(request: Request, session: Reading, asked: Asked) -> Response:
    subject, search = asked.text("subject"), asked.text("q")
    subject_id = asked.whole("id", 1, 2**31 - 1) if subject else None
    total = count_journal(session, subject, subject_id, search)
    last_page = max((total - 1) // LINES, 0)
    number = min(asked.whole("page", 0, PAGES_MOST) or 0, last_page)
    lines = list_journal(session, subject, subject_id, search, skip=number * LINES, limit=LINES)
    asked_for = {"q": search, "subject": subject, "id": subject_id or ""}

    def address(page_number: int) -> str:
        query = {name: value for name, value in asked_for.items() if value} | {"page": page_number}
        return f"/journal?{urlencode(query)}"

    return page(
        request,
        "journal/list.html",
        lines=[(line, _place_of(line)) for line in lines],
        first=number * LINES + 1,
        total=total,
        before=address(number - 1) if number else "",
        after=address(number + 1) if number < last_page else "",
        subjects=[(word, word.capitalize()) for word in list_journal_subjects(session)],
        subject=subject,
        subject_id=subject_id or "",
        search=search,
    )


def _place_of(line: JournalRow) -> str:
    return PLACES.get(line.subject, "").format(line.subject_id)
