"""Certificates: the list with its search, one certificate, its files, and issuing it from a finished visit."""

from fastapi import APIRouter, Request, Response

from app.actions.certificates import issue_certificate, open_certificate
from app.actions.drawings import watch_drawing
from app.actions.paper_files import collect_files, open_paper
from app.rules.file_names import suggest_file_name
from app.store.certificates import count_certificates, find_newest_revision, get_certificate, list_certificate_page
from app.store.doubts import list_doubts_of_visit
from app.store.invoices import find_invoice_of_visit
from app.store.paper_parts import get_paper_part, list_paper_parts
from app.store.saved_views import list_saved_views
from app.store.share_links import list_share_links
from app.web.drawings import PATIENCE_SECONDS
from app.web.kit import Asked, Reading, TheDesk, ThePerson, go, page, pdf
from app.web.list_steps import show_place, show_steps
from app.web.zips import download_files

routes = APIRouter()
PAGE = 50


@routes.get("/certificates")
def list_all_certificates(request: Request, session: Reading, person: ThePerson, asked: Asked) -> Response:
    search, start = asked.text("q"), asked.whole("from", 1, 10**9) or 1
    found = list_certificate_page(session, show_place(asked), PAGE, search)
    return page(
        request,
        "certificates/list.html",
        certificates=found.rows,
        search=search,
        first=start,
        total=count_certificates(session, search=search),
        steps=show_steps("/certificates", asked, found, start, PAGE),
        views=list_saved_views(session, person.id, "/certificates"),
    )


@routes.post("/visits/{visit_id}/certificate")
def save_certificate(desk: TheDesk, person: ThePerson, visit_id: int) -> Response:
    return go(f"/certificates/{issue_certificate(desk, person, visit_id, PATIENCE_SECONDS)}")


@routes.get("/certificates/{certificate_id}")
def show_certificate(request: Request, session: Reading, desk: TheDesk, certificate_id: int) -> Response:
    row = get_certificate(session, certificate_id)
    return page(
        request,
        "certificates/show.html",
        certificate=row,
        paper=row.data,
        standing=row.standing.value,
        newest=find_newest_revision(session, row),
        invoice=find_invoice_of_visit(session, row.visit_id),
        share_links=list_share_links(session, visit_id=row.visit_id),
        today=desk.today,
        parts=list_paper_parts(session, "certificate", certificate_id),
        drawing=watch_drawing(desk, "certificate", certificate_id),
        doubts=list_doubts_of_visit(session, row.visit_id),
    )


@routes.get("/certificates/{certificate_id}/paper.pdf")
def download_certificate(session: Reading, desk: TheDesk, certificate_id: int) -> Response:
    row = get_certificate(session, certificate_id)
    name = suggest_file_name("certificate", row.number, row.visit.premises.name, row.issued_on)
    return pdf(open_certificate(desk, row), name)


@routes.get("/certificates/{certificate_id}/part-{part_place}.pdf")
def download_certificate_part(session: Reading, desk: TheDesk, certificate_id: int, part_place: int) -> Response:
    """One part of a certificate that is in parts."""
    row = get_certificate(session, certificate_id)
    part = get_paper_part(session, "certificate", certificate_id, part_place)
    number = f"{row.number}-part-{part_place:02d}"
    name = suggest_file_name("certificate", number, row.visit.premises.name, row.issued_on)
    return pdf(open_paper(desk.papers_folder, part.file_name, part.sha256), name)


@routes.get("/certificates/{certificate_id}/papers.zip")
def download_certificate_files(session: Reading, desk: TheDesk, certificate_id: int) -> Response:
    """Every file of a certificate, cover and parts, in one."""
    row = get_certificate(session, certificate_id)
    files = collect_files(desk.papers_folder, row, list_paper_parts(session, "certificate", row.id))
    name = suggest_file_name("certificate", row.number, row.visit.premises.name, row.issued_on, "zip")
    return download_files(files, row.issued_on, name)
