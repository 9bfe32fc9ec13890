"""Papers of every kind in one list; one register, defect list, or paper on a single item; its PDF; making it void."""

from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.drawings import watch_drawing
from app.actions.item_certificates import void_paper
from app.actions.paper_files import collect_files, open_paper
from app.actions.papers import finish_paper, open_issued_paper
from app.rules.certificates import Standing
from app.rules.file_names import suggest_file_name
from app.rules.papers import PaperKind, Purpose
from app.rules.verdicts import Mistakes
from app.store.customers import get_customer
from app.store.doubts import list_doubts_of_visit
from app.store.issued_papers import (
    CERTIFICATE,
    KINDS,
    IssuedPaper,
    PaperFilter,
    count_issued_papers,
    list_issued_papers,
)
from app.store.items import get_item
from app.store.paper_parts import get_paper_part, list_paper_parts
from app.store.papers import PaperRow, find_newest_paper, get_paper
from app.store.premises import get_premises
from app.web.drawings import PATIENCE_SECONDS
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page, pdf
from app.web.zips import download_files

routes = APIRouter()
PAGE = 50
_ID_MOST = 2**31 - 1


def show_paper_address(paper: IssuedPaper) -> str:
    """Where a paper of the list can be seen."""
    return f"/{'certificates' if paper.kind == CERTIFICATE else 'papers'}/{paper.id}"


@routes.get("/papers")
def list_papers(request: Request, session: Reading, asked: Asked) -> Response:
    kind = next((kind for kind in KINDS if kind == asked.value("kind")), "")
    wanted = PaperFilter(
        customer_id=asked.whole("customer", 1, _ID_MOST),
        premises_id=asked.whole("premises", 1, _ID_MOST),
        item_id=asked.whole("item", 1, _ID_MOST),
        kind=kind,
        search=asked.text("q"),
    )
    start = asked.whole("from", 1, 10**6) or 1
    of = {"customer": wanted.customer_id, "premises": wanted.premises_id, "item": wanted.item_id}
    of = {name: value for name, value in of.items() if value}
    kept = {name: value for name, value in (of | {"kind": kind, "q": wanted.search}).items() if value}
    found = list_issued_papers(session, wanted, limit=PAGE, offset=start - 1)
    return page(
        request,
        "papers/list.html",
        papers=[(paper, show_paper_address(paper)) for paper in found],
        total=count_issued_papers(session, wanted),
        first=start,
        size=PAGE,
        of=of,
        kept=urlencode(kept),
        whole=f"/papers?{urlencode(of)}" if of else "/papers",
        kind=kind,
        kinds=[(each, each.capitalize()) for each in KINDS],
        search=wanted.search,
        subject=_subject(session, wanted),
    )


def _subject(session: Session, wanted: PaperFilter) -> tuple[list[tuple[str, str]], str] | None:
    """What the list is narrowed to: the way there, and the address at which a paper of it is issued. Raises Missing."""
    if wanted.item_id is not None:
        item = get_item(session, wanted.item_id)
        here = (f"{item.number} {item.description}", f"/items/{item.id}")
        return [(item.premises.name, f"/premises/{item.premises_id}"), here], f"{here[1]}/papers/new"
    if wanted.premises_id is not None:
        place = get_premises(session, wanted.premises_id)
        here = (place.name, f"/premises/{place.id}")
        return [(place.customer.name, f"/customers/{place.customer_id}"), here], f"{here[1]}/papers/new"
    if wanted.customer_id is not None:
        customer = get_customer(session, wanted.customer_id)
        return [(customer.name, f"/customers/{customer.id}")], f"/customers/{customer.id}/papers/new"
    return None


@routes.get("/papers/{paper_id}")
def show_paper(request: Request, session: Reading, desk: TheDesk, paper_id: int) -> Response:
    row = get_paper(session, paper_id)
    return page(
        request,
        "papers/show.html",
        row=row,
        paper=row.data,
        standing=row.standing.value,
        newest=find_newest_paper(session, row),
        purpose=Purpose(row.purpose).word if row.purpose else "",
        parts=list_paper_parts(session, "paper", paper_id),
        drawing=watch_drawing(desk, "paper", paper_id),
        doubts=list_doubts_of_visit(session, test.visit_id, test.item_id) if (test := row.visit_item) else [],
        corrects=row.kind == PaperKind.ITEM_CERTIFICATE and row.standing == Standing.ISSUED,
    )


@routes.post("/papers/{paper_id}/finish")
def save_paper(desk: TheDesk, person: ThePerson, paper_id: int) -> Response:
    """Draw a paper that a crash left waiting, without a new start of the program."""
    return go(f"/papers/{finish_paper(desk, person, paper_id, PATIENCE_SECONDS)}")


@routes.get("/papers/{paper_id}/paper.pdf")
def download_paper(session: Reading, desk: TheDesk, paper_id: int) -> Response:
    row = get_paper(session, paper_id)
    return pdf(open_issued_paper(desk, row), _file_name(row))


@routes.get("/papers/{part_paper_id}/part-{part_place}.pdf")
def download_paper_part(session: Reading, desk: TheDesk, part_paper_id: int, part_place: int) -> Response:
    """One part of a paper that is in parts."""
    row, part = get_paper(session, part_paper_id), get_paper_part(session, "paper", part_paper_id, part_place)
    return pdf(open_paper(desk.papers_folder, part.file_name, part.sha256), _file_name(row, f"-part-{part_place:02d}"))


@routes.get("/papers/{part_paper_id}/papers.zip")
def download_paper_files(session: Reading, desk: TheDesk, part_paper_id: int) -> Response:
    """Every file of a paper, cover and parts, in one."""
    row = get_paper(session, part_paper_id)
    files = collect_files(desk.papers_folder, row, list_paper_parts(session, "paper", row.id))
    return download_files(files, row.issued_on, _file_name(row, ending="zip"))


def _file_name(row: PaperRow, more: str = "", ending: str = "pdf") -> str:
    whom = row.customer.name if row.premises is None else row.premises.name
    return suggest_file_name(row.kind, f"{row.number}{more}", whom, row.as_at, ending)


@routes.get("/papers/{paper_id}/void")
def new_void(request: Request, session: Reading, paper_id: int) -> Response:
    row = get_paper(session, paper_id)
    if row.standing != Standing.ISSUED:
        return go(f"/papers/{row.id}")
    return page(request, "papers/void.html", form=Form(), row=row)


@routes.post("/papers/{paper_id}/void")
def save_void(request: Request, deed: Doing, sent: Sent, paper_id: int) -> Response:
    try:
        reason = sent.text("reason", 500)
        sent.done()
        void_paper(deed, paper_id, reason)
    except Mistakes as wrong:
        raise ask_again(request, "papers/void.html", sent, wrong, row=get_paper(deed.session, paper_id)) from wrong
    return go(f"/papers/{paper_id}")
