"""All files of a paper that is in parts, for whoever holds a link that opens it."""

from fastapi import APIRouter, Request, Response

from app.actions.folders import collect_folder
from app.rules.file_names import suggest_file_name
from app.rules.share_links import parse_folder_kind
from app.store.folders import find_in_folder
from app.web.kit import Reading, TheDesk, page
from app.web.share import show_closed, show_link
from app.web.zips import download_files

routes = APIRouter()


@routes.get("/s/{token}/papers/{slug}/{paper_id}/files.zip")
def download_shared_files(
    request: Request, session: Reading, desk: TheDesk, token: str, slug: str, paper_id: int
) -> Response:
    """Cover and parts in one ZIP; a paper in one file is the only one in it."""
    link = show_link(request, session, desk, token)
    kind = parse_folder_kind(slug)
    paper = find_in_folder(session, link.scope, kind, paper_id) if kind else None
    if paper is None:
        return show_closed(request)
    files, left_out = collect_folder(desk, [paper])
    if left_out:
        return page(request, "share/held.html", status=409)
    name = suggest_file_name(paper.kind.value, paper.number, paper.whom, paper.issued_on, "zip")
    return download_files([(each.path, each.sha256) for each in files], paper.issued_on, name)


@routes.get("/s/{token}/certificates/{certificate_id}/files.zip")
def download_files_of_certificate(
    request: Request, session: Reading, desk: TheDesk, token: str, certificate_id: int
) -> Response:
    return download_shared_files(request, session, desk, token, "certificate", certificate_id)
