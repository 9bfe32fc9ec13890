"""Records in doubt because an instrument failed: all such doubts, the records of one, and what was decided about it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.doubts import decide_on_doubt
from app.actions.exports import export_listing
from app.rules.checks import Check
from app.rules.file_names import suggest_file_name
from app.rules.listings import Listing
from app.rules.verdicts import Mistakes
from app.store.doubts import (
    DoubtfulRecord,
    InstrumentDoubt,
    count_doubtful_by_check,
    get_doubt,
    list_all_doubts,
    list_doubtful_customers,
    list_doubtful_records,
    list_papers_of_records,
)
from app.store.paper_facts import facts_limit_text, facts_margin_text
from app.web.fields import Form
from app.web.filters import show_check
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ask_again, attachment, go, page

routes = APIRouter()
PAGE = 200
HEAD = ("Customer", "Premises", "Tested on", "Visit", "Item", "Description", "Location", "Check", "Reading", "Limit",
        "Margin", "Verdict", "Certificate", "Certificate of the item")  # fmt: skip


@dataclass(frozen=True)
class RecordLine:
    """One reading as the page shows it; paper is the certificate of that one item, where there is one."""

    item_id: int
    number: str
    description: str
    location: str
    check: str
    value: str
    limit: str
    margin: str
    outcome: str
    found_first: bool
    paper: tuple[int, str] | None


@dataclass(frozen=True)
class VisitGroup:
    """What was measured at one visit, with the certificate that stands for it."""

    visit_id: int
    customer: str
    premises: str
    tested_on: date | None
    certificate: tuple[int, str] | None
    lines: tuple[RecordLine, ...]


@routes.get("/doubts")
def list_doubts(request: Request, session: Reading) -> Response:
    """Every failure of an instrument, those that nobody has decided about first."""
    found = sorted(list_all_doubts(session), key=lambda each: not each.unanswered)
    return page(request, "doubts/list.html", doubts=found)


@routes.get("/instruments/{instrument_id}/doubts/{doubt_key}")
def show_doubt(request: Request, session: Reading, asked: Asked, instrument_id: int, doubt_key: str) -> Response:
    kept = get_doubt(session, instrument_id, doubt_key)
    return page(request, "doubts/show.html", form=Form(), **_context(session, kept, asked))


@routes.post("/instruments/{instrument_id}/doubts/{doubt_key}")
def save_decision(request: Request, deed: Doing, sent: Sent, instrument_id: int, doubt_key: str) -> Response:
    try:
        decided = sent.text("decided", 500)
        sent.done()
        decide_on_doubt(deed, instrument_id, doubt_key, decided)
    except Mistakes as wrong:
        context = _context(deed.session, get_doubt(deed.session, instrument_id, doubt_key), Form())
        raise ask_again(request, "doubts/show.html", sent, wrong, **context) from wrong
    return go(f"/instruments/{instrument_id}/doubts/{doubt_key}")


@routes.get("/instruments/{instrument_id}/doubts/{doubt_key}/records.csv")
def download_records(session: Reading, desk: TheDesk, asked: Asked, instrument_id: int, doubt_key: str) -> Response:
    """All the records that the choices in the address leave, as CSV."""
    kept = get_doubt(session, instrument_id, doubt_key)
    check, customer_id = _chosen(kept, asked)
    records = list_doubtful_records(session, kept, check, customer_id)
    certificates, papers = list_papers_of_records(session, records)
    rows = tuple(
        (each.customer, each.premises, each.tested_on, each.visit_id, each.number, each.description, each.location,
         line.check, line.value, line.limit, line.margin, line.outcome,
         certificates.get(each.visit_id, (0, ""))[1], papers.get(each.visit_item_id, (0, ""))[1])
        for each in records
        for line in [_line(each, papers)]
    )  # fmt: skip
    content = export_listing(Listing("Records in doubt", HEAD, rows), "csv", desk.today)
    name = suggest_file_name("records in doubt", "", kept.instrument.name, kept.doubt.failed_on, "csv")
    return attachment(content, "text/csv", name)


def _chosen(kept: InstrumentDoubt, asked: Form) -> tuple[Check | None, int | None]:
    """The function and the customer to show: at first the function whose check failed, of every customer."""
    told = asked.value("check")
    if not told and not asked.value("shown"):
        return kept.doubt.check, None
    check = Check(told) if told in set(Check) else None
    return check, Form(dict(asked.values)).whole("customer", 1, 2**31 - 1)


def _context(session: Session, kept: InstrumentDoubt, asked: Form) -> dict[str, Any]:
    check, customer_id = _chosen(kept, asked)
    number = Form(dict(asked.values)).whole("page", 1, 10**6) or 1
    customers = list_doubtful_customers(session, kept, check)
    total = sum(each.readings for each in customers if customer_id in (None, each.customer_id))
    skip = (number - 1) * PAGE
    records = list_doubtful_records(session, kept, check, customer_id, skip, PAGE) if total else []
    counts = count_doubtful_by_check(session, kept)
    chosen = {"shown": "yes", "check": check.value if check else "", "customer": str(customer_id or "")}

    def step(other: int) -> str:
        return f"{kept.address}?{urlencode(chosen | {'page': str(other)})}#records"

    return {
        "kept": kept,
        "check": chosen["check"],
        "customer": chosen["customer"],
        "checks": [(each.value, f"{show_check(each)}, {count}") for each, count in counts.items()],
        "customers": customers,
        "customer_choices": [(str(each.customer_id), each.customer) for each in customers],
        "preselected": check is not None and check == kept.doubt.check,
        "groups": _groups(session, records),
        "total": total,
        "first": skip + 1,
        "shown": len(records),
        "before": step(number - 1) if number > 1 else "",
        "after": step(number + 1) if skip + len(records) < total else "",
        "asked_for": f"?{urlencode(chosen)}",
    }


def _groups(session: Session, records: Sequence[DoubtfulRecord]) -> list[VisitGroup]:
    certificates, papers = list_papers_of_records(session, records)
    groups = []
    for visit_id, found in groupby(records, key=lambda each: each.visit_id):
        own = list(found)
        lines = tuple(_line(each, papers) for each in own)
        day = max((each.tested_on for each in own if each.tested_on), default=None)
        certificate = certificates.get(visit_id)
        groups.append(VisitGroup(visit_id, own[0].customer, own[0].premises, day, certificate, lines))
    return groups


def _line(each: DoubtfulRecord, papers: dict[int, tuple[int, str]]) -> RecordLine:
    row = each.reading
    point = f", {row.point}" if row.point else ""
    return RecordLine(
        item_id=each.item_id,
        number=each.number,
        description=each.description,
        location=each.location,
        check=f"{show_check(each.check)}{point}",
        value=row.measured,
        limit=facts_limit_text(row),
        margin=facts_margin_text(row),
        outcome=row.outcome,
        found_first=each.found_first,
        paper=papers.get(each.visit_item_id),
    )
