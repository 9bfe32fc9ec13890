"""The customer's side, opened by a share link only: one visit's results and papers, and nothing else.

A link that is unknown, has expired or was withdrawn gets one and the same answer.
"""

import logging
from collections.abc import Callable
from functools import partial
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.certificates import open_certificate
from app.actions.e_invoices import open_structured
from app.actions.invoices import open_invoice
from app.actions.share_links import TooManyTries, try_share_link
from app.rules.certificates import Standing, list_photo_ids
from app.rules.checks import Check
from app.rules.dangers import describe_danger
from app.rules.file_names import suggest_file_name
from app.rules.verdicts import Refused
from app.store.certificates import CertificateRow, list_certificates_of_visit
from app.store.invoices import InvoiceRow, find_invoice_of_visit
from app.store.paper_parts import list_paper_parts
from app.store.photos import get_photo
from app.store.share_links import ShareLinkRow, get_share_link
from app.web.kit import Reading, TheDesk, jpeg, page, pdf, xml

routes = APIRouter()
log = logging.getLogger("ohmstead")
NO_LOCATION = "No location noted"


@routes.get("/s/{token}")
@routes.head("/s/{token}")
def show_share(request: Request, session: Reading, desk: TheDesk, token: str) -> Response:
    """The page of one link. The opening is counted in a transaction of its own; a HEAD counts nothing."""
    link = _link(request, session, desk, token, counted=request.method == "GET")
    if isinstance(link, Response):
        return link
    certificate = _certificate(session, link)
    if certificate is None:
        void = _void(session, link)
        return page(request, "share/void.html", certificate=void) if void else _closed(request)
    invoice = _invoice(session, link)
    return page(
        request,
        "share/show.html",
        link=link,
        certificate=certificate,
        earlier=[row for row in list_certificates_of_visit(session, link.visit_id) if row.id < certificate.id],
        invoice=invoice,
        invoice_state=invoice.state_on(desk.today) if invoice else "",
        here=f"/s/{token}",
        parts=list_paper_parts(session, "certificate", certificate.id),
        **_told_from(certificate.data),
    )


@routes.get("/s/{token}/certificate.pdf")
def download_shared_certificate(request: Request, session: Reading, desk: TheDesk, token: str) -> Response:
    link = _link(request, session, desk, token)
    if isinstance(link, Response):
        return link
    row = _certificate(session, link)
    if row is None:
        return _closed(request)
    name = suggest_file_name("certificate", row.number, row.visit.premises.name, row.issued_on)
    return _paper(request, partial(open_certificate, desk, row), name)


@routes.get("/s/{token}/certificates/{certificate_id}.pdf")
def download_earlier_certificate(
    request: Request, session: Reading, desk: TheDesk, token: str, certificate_id: int
) -> Response:
    """A certificate of the visit that was replaced or is void. The page says so; its bytes are the old ones."""
    link = _link(request, session, desk, token)
    if isinstance(link, Response):
        return link
    rows = list_certificates_of_visit(session, link.visit_id)
    row = next((row for row in rows if row.id == certificate_id and row.state == "issued"), None)
    if row is None:
        return _closed(request)
    name = suggest_file_name("certificate", row.number, row.visit.premises.name, row.issued_on)
    return _paper(request, partial(open_certificate, desk, row), name)


@routes.get("/s/{token}/invoice.pdf")
def download_shared_invoice(request: Request, session: Reading, desk: TheDesk, token: str) -> Response:
    link = _link(request, session, desk, token)
    if isinstance(link, Response):
        return link
    row = _invoice(session, link)
    if row is None:
        return _closed(request)
    name = suggest_file_name("invoice", row.number or "", row.customer.name, row.issued_on or desk.today)
    return _paper(request, partial(open_invoice, desk, row), name)


@routes.get("/s/{token}/photos/{photo_id}")
def show_shared_photo(request: Request, session: Reading, desk: TheDesk, token: str, photo_id: int) -> Response:
    """A photo that the certificate of this link shows; any other is not there."""
    link = _link(request, session, desk, token)
    if isinstance(link, Response):
        return link
    certificate = _certificate(session, link)
    if certificate is None or photo_id not in list_photo_ids(certificate.data):
        return _closed(request)
    return jpeg(get_photo(session, photo_id).content, f"photo-{photo_id}.jpg")


@routes.get("/s/{token}/invoice-ubl.xml")
def download_shared_ubl(request: Request, session: Reading, desk: TheDesk, token: str) -> Response:
    return _structured(request, session, desk, token, "ubl")


@routes.get("/s/{token}/invoice-cii.xml")
def download_shared_cii(request: Request, session: Reading, desk: TheDesk, token: str) -> Response:
    return _structured(request, session, desk, token, "cii")


def _structured(request: Request, session: Session, desk: TheDesk, token: str, syntax: str) -> Response:
    link = _link(request, session, desk, token)
    if isinstance(link, Response):
        return link
    row = _invoice(session, link)
    if row is None or not (row.data or {}).get("terms_en16931"):
        return _closed(request)
    name = suggest_file_name(
        "invoice", row.number or "", row.customer.name, row.issued_on or desk.today, f"{syntax}.xml"
    )
    return xml(open_structured(row, syntax), name)


def _paper(request: Request, opened: Callable[[], bytes], name: str) -> Response:
    """The file; when it is not what was issued, the customer is told to ask, and the log tells the firm why."""
    try:
        return pdf(opened(), name, download=True)
    except Refused as refused:
        log.error("shared paper not given out: %s", refused.sentence)
        return page(request, "share/held.html", status=409)


def _link(
    request: Request, session: Session, desk: TheDesk, token: str, counted: bool = False
) -> ShareLinkRow | Response:
    try:
        found = try_share_link(desk, token, request.client.host if request.client else "", counted)
    except TooManyTries:
        answer = page(request, "share/slowed.html", status=429)
        answer.headers["Retry-After"] = "60"
        return answer
    return get_share_link(session, found) if found is not None else _closed(request)


def _closed(request: Request) -> Response:
    return page(request, "share/closed.html", status=404)


def _certificate(session: Session, link: ShareLinkRow) -> CertificateRow | None:
    """The certificate that holds. While a correction is being made, that is still the one before it."""
    rows = list_certificates_of_visit(session, link.visit_id)
    return next((row for row in rows if row.standing == Standing.ISSUED), None)


def _void(session: Session, link: ShareLinkRow) -> CertificateRow | None:
    rows = list_certificates_of_visit(session, link.visit_id)
    return next((row for row in rows if row.void is not None), None)


def _invoice(session: Session, link: ShareLinkRow) -> InvoiceRow | None:
    row = find_invoice_of_visit(session, link.visit_id)
    return row if row is not None and row.state == "issued" else None


def _told_from(paper: dict[str, Any]) -> dict[str, Any]:
    """The certificate's own data, in the order a customer needs: what failed first, urgent before the rest."""
    rows = paper["schedule"]["rows"]
    by_number = {row["number"]: row for row in rows}
    failed = [_failed(item, by_number[item["number"]]) for item in paper["failed"]]
    said = dict(paper["particulars"])
    places: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        places.setdefault(row["location"] or NO_LOCATION, []).append(row)
    return {
        "paper": paper,
        "tested": said["Tested"],
        "next_due": said.get("Next test due", "–").strip("–"),
        "failed": sorted(failed, key=lambda item: not item["urgent"]),
        "urgent": sum(item["urgent"] for item in failed),
        "places": places,
    }


def _failed(item: dict[str, Any], row: dict[str, Any]) -> dict[str, Any]:
    seen = [text for text in row["defects"] if text]
    bad = [reading["check"] for reading in row["readings"] if reading["bad"]]
    dangers = {check: describe_danger(check) for check in bad}
    # What the technician wrote about a look says more than the general sentence.
    told = [danger.sentence for check, danger in dangers.items() if not (seen and check == Check.VISUAL)]
    return {
        "number": item["number"],
        "what": ", ".join(text for text in (item["description"], item["product"]) if text),
        "place": item["location"],
        "plain": list(dict.fromkeys(told)),
        "seen": seen,
        "measured": [text for text in item["wrong"] if text.rstrip(".") not in {each.rstrip(".") for each in seen}],
        "todo": item["todo"],
        "photos": item.get("photos", []),
        "urgent": any(danger.urgent for danger in dangers.values()),
    }
