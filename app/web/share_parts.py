"""All files of a certificate that is in parts, for whoever holds the link of its visit."""

import logging

from fastapi import APIRouter, Request, Response

from app.actions.paper_files import collect_files
from app.actions.share_links import TooManyTries, try_share_link
from app.rules.file_names import suggest_file_name
from app.rules.verdicts import Refused
from app.store.certificates import list_certificates_of_visit
from app.store.paper_parts import list_paper_parts
from app.store.share_links import get_share_link
from app.web.kit import Reading, TheDesk, page
from app.web.zips import download_files

routes = APIRouter()
log = logging.getLogger("ohmstead")


@routes.get("/s/{token}/certificates/{certificate_id}/files.zip")
def download_shared_files(
    request: Request, session: Reading, desk: TheDesk, token: str, certificate_id: int
) -> Response:
    """Cover and parts in one ZIP; a certificate in one file is the only one in it."""
    try:
        found = try_share_link(desk, token, request.client.host if request.client else "", False)
    except TooManyTries:
        answer = page(request, "share/slowed.html", status=429)
        answer.headers["Retry-After"] = "60"
        return answer
    visit_id = get_share_link(session, found).visit_id if found is not None else None
    rows = list_certificates_of_visit(session, visit_id) if visit_id is not None else []
    row = next((row for row in rows if row.id == certificate_id and row.state == "issued"), None)
    if row is None:
        return page(request, "share/closed.html", status=404)
    try:
        files = collect_files(desk.papers_folder, row, list_paper_parts(session, "certificate", row.id))
    except Refused as refused:
        log.error("shared paper not given out: %s", refused.sentence)
        return page(request, "share/held.html", status=409)
    name = suggest_file_name("certificate", row.number, row.visit.premises.name, row.issued_on, "zip")
    return download_files(files, row.issued_on, name)
