"""Files behind a share link: one paper, its structured form, or everything as one ZIP."""

import logging
from functools import partial

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.deeds import Desk
from app.actions.e_invoices import open_structured
from app.actions.folders import MISSING, collect_folder, open_folder_paper
from app.rules.file_names import suggest_file_name
from app.rules.share_links import FolderKind, parse_folder_kind
from app.rules.verdicts import Refused
from app.store.customers import get_customer
from app.store.folders import FolderPaper, find_in_folder, list_folder
from app.store.invoices import get_invoice
from app.store.premises import get_premises
from app.store.share_links import ShareLinkRow
from app.store.visits import get_visit
from app.web.kit import Reading, TheDesk, page, pdf, xml
from app.web.share import show_closed, show_link
from app.web.zips import download_named

routes = APIRouter()
log = logging.getLogger("ohmstead")


@routes.get("/s/{token}/papers/{slug}/{paper_id}.pdf")
def download_shared_paper(
    request: Request, session: Reading, desk: TheDesk, token: str, slug: str, paper_id: int
) -> Response:
    """One paper, as it was issued; whether it still holds is said by the page."""
    link = show_link(request, session, desk, token)
    kind = parse_folder_kind(slug)
    paper = find_in_folder(session, link.scope, kind, paper_id) if kind else None
    return _paper(request, desk, paper)


@routes.get("/s/{token}/papers/invoice/{invoice_id}/{syntax}.xml")
def download_shared_structured(
    request: Request, session: Reading, desk: TheDesk, token: str, invoice_id: int, syntax: str
) -> Response:
    link = show_link(request, session, desk, token)
    return _structured(request, session, link, invoice_id, syntax)


@routes.get("/s/{token}/everything.zip")
def download_everything(request: Request, session: Reading, desk: TheDesk, token: str) -> Response:
    """Every paper of the link in one file, written while it is sent, so that no folder is ever held as a whole."""
    link = show_link(request, session, desk, token)
    papers = list_folder(session, link.scope)
    if not papers:
        return show_closed(request)
    name = suggest_file_name("papers", "", _whose(session, link), desk.today, "zip")
    files, left_out = collect_folder(desk, papers)
    return download_named(files, name, {MISSING: left_out} if left_out else None)


@routes.get("/s/{token}/certificate.pdf")
def download_shared_certificate(request: Request, session: Reading, desk: TheDesk, token: str) -> Response:
    """The certificate that holds for the link's visit. Addresses of this form stand in links given out earlier."""
    return _first(request, session, desk, token, FolderKind.CERTIFICATE)


@routes.get("/s/{token}/certificates/{certificate_id}.pdf")
def download_earlier_certificate(
    request: Request, session: Reading, desk: TheDesk, token: str, certificate_id: int
) -> Response:
    return download_shared_paper(request, session, desk, token, "certificate", certificate_id)


@routes.get("/s/{token}/invoice.pdf")
def download_shared_invoice(request: Request, session: Reading, desk: TheDesk, token: str) -> Response:
    return _first(request, session, desk, token, FolderKind.INVOICE)


@routes.get("/s/{token}/invoice-ubl.xml")
def download_shared_ubl(request: Request, session: Reading, desk: TheDesk, token: str) -> Response:
    return _structured_of_visit(request, session, desk, token, "ubl")


@routes.get("/s/{token}/invoice-cii.xml")
def download_shared_cii(request: Request, session: Reading, desk: TheDesk, token: str) -> Response:
    return _structured_of_visit(request, session, desk, token, "cii")


def _first(request: Request, session: Session, desk: Desk, token: str, kind: FolderKind) -> Response:
    link = show_link(request, session, desk, token)
    return _paper(request, desk, _holding(session, link, kind))


def _holding(session: Session, link: ShareLinkRow, kind: FolderKind) -> FolderPaper | None:
    """The paper of a kind that holds, where the link is to one visit."""
    if link.visit_id is None:
        return None
    papers = list_folder(session, link.scope)
    return next((paper for paper in papers if paper.kind == kind and not paper.gone), None)


def _paper(request: Request, desk: Desk, paper: FolderPaper | None) -> Response:
    """The file; when it is not what was issued, the customer is told to ask, and the log tells the firm why."""
    if paper is None:
        return show_closed(request)
    opened = partial(open_folder_paper, desk, paper)
    name = suggest_file_name(paper.kind.value, paper.number, paper.whom, paper.issued_on)
    try:
        return pdf(opened(), name, download=True)
    except Refused as refused:
        log.error("shared paper not given out: %s", refused.sentence)
        return page(request, "share/held.html", status=409)


def _structured_of_visit(request: Request, session: Session, desk: Desk, token: str, syntax: str) -> Response:
    link = show_link(request, session, desk, token)
    paper = _holding(session, link, FolderKind.INVOICE)
    return _structured(request, session, link, paper.id, syntax) if paper else show_closed(request)


def _structured(request: Request, session: Session, link: ShareLinkRow, invoice_id: int, syntax: str) -> Response:
    paper = find_in_folder(session, link.scope, FolderKind.INVOICE, invoice_id)
    if paper is None or not paper.structured or syntax not in ("ubl", "cii"):
        return show_closed(request)
    name = suggest_file_name("invoice", paper.number, paper.whom, paper.issued_on, f"{syntax}.xml")
    return xml(open_structured(get_invoice(session, invoice_id), syntax), name)


def _whose(session: Session, link: ShareLinkRow) -> str:
    if link.visit_id is not None:
        return get_visit(session, link.visit_id).premises.name
    if link.premises_id is not None:
        return get_premises(session, link.premises_id).name
    return get_customer(session, link.customer_id).name
