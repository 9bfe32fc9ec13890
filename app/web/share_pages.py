"""What the customer's pages show: one paper, one visit, or the folder of premises or of a whole customer.

The office sees the same by way of a preview, so that whoever gives a link away knows what it opens.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from sqlalchemy.orm import Session

from app.actions.deeds import Desk
from app.rules.certificates import Standing
from app.rules.checks import Check
from app.rules.dangers import describe_danger
from app.rules.due_work import DueGroup
from app.rules.items import ItemState
from app.rules.share_links import FolderKind, LinkKind, LinkScope
from app.store.certificates import CertificateRow, get_certificate, list_certificates_of_visit
from app.store.customers import get_customer
from app.store.defects import list_open_defects_of_all
from app.store.due_work import list_due_places
from app.store.folders import FolderPaper, list_folder
from app.store.items import ItemRow
from app.store.paper_codes import find_code_of
from app.store.paper_parts import list_paper_parts
from app.store.papers import get_paper
from app.store.premises import get_premises

NO_LOCATION = "No location noted"
#: How far ahead the customer sees what falls due.
AHEAD = timedelta(days=400)
MONEY_WORDS = {
    FolderKind.QUOTE: "Quotes",
    FolderKind.INVOICE: "Invoices",
    FolderKind.CREDIT_NOTE: "Credit notes",
    FolderKind.CLAIM: "Claims for late payment",
}


@dataclass(frozen=True)
class OpenItem:
    """An item that waits to be put right: what was found, what puts it right, and whether somebody said it is done."""

    item: ItemRow
    premises: str
    retest_on: date | None
    act_by: date | None
    said_on: date | None
    found: list[str] = field(default_factory=list)
    remedies: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class DueMonth:
    """What falls due in a month, or is overdue: how many items, and of which types."""

    word: str
    count: int
    types: str


@dataclass(frozen=True)
class DueHere:
    premises: str
    booked_on: date | None
    months: list[DueMonth]


def show_scope(session: Session, desk: Desk, scope: LinkScope) -> tuple[str, dict[str, Any]]:
    """The template for a scope, and all that it needs; no template where there is nothing to show."""
    papers = list_folder(session, scope)
    shared: dict[str, Any] = {
        "papers": papers,
        "kilobytes": sum(paper.size_bytes for paper in papers) // 1000,
        "today": desk.today,
        "with_money": scope.with_money,
    }
    if scope.kind == LinkKind.PAPER:
        return ("share/paper.html", shared | _paper_told(session, papers[0])) if papers else ("", {})
    items = list_open_items(session, desk, scope)
    if scope.visit_id is not None:
        return _visit_told(session, scope.visit_id, papers, items, shared)
    place = get_premises(session, scope.premises_id) if scope.premises_id is not None else None
    return "share/folder.html", shared | {
        "customer": get_customer(session, scope.customer_id),
        "premises": place,
        "open_items": items,
        "due": _due(session, scope, desk.today),
        "certificates": [paper for paper in papers if paper.kind == FolderKind.CERTIFICATE],
        "lists": [paper for paper in papers if not paper.kind.is_money and paper.kind != FolderKind.CERTIFICATE],
        "money": [
            (word, found)
            for kind, word in MONEY_WORDS.items()
            if (found := [paper for paper in papers if paper.kind == kind])
        ],
    }


def list_open_items(session: Session, desk: Desk, scope: LinkScope) -> list[OpenItem]:
    """The items of a scope with open defects, each once, the oldest first."""
    found: dict[int, OpenItem] = {}
    for each in list_open_defects_of_all(session, scope=scope):
        defect = each.defect
        said = defect.said_done_at.astimezone(desk.zone).date() if defect.said_done_at else None
        entry = found.setdefault(each.item.id, OpenItem(each.item, each.premises, each.retest_on, defect.act_by, said))
        entry.found.append(defect.found)
        if defect.remedy and defect.remedy not in entry.remedies:
            entry.remedies.append(defect.remedy)
    return list(found.values())


def _due(session: Session, scope: LinkScope, today: date) -> list[DueHere]:
    places = list_due_places(session, today + AHEAD, customer_id=scope.customer_id)
    return [
        DueHere(place.premises, place.booked_on, _months(place.groups, today))
        for place in places
        if scope.premises_id in (None, place.premises_id)
    ]


def _months(groups: Sequence[DueGroup], today: date) -> list[DueMonth]:
    by_month: dict[str, dict[str, int]] = {}
    for group in sorted(groups, key=lambda group: group.due_on):
        word = "Overdue" if group.due_on < today else f"{group.due_on:%B %Y}"
        name = group.type_name or group.kind.value.replace("-", " ").capitalize()
        types = by_month.setdefault(word, {})
        types[name] = types.get(name, 0) + group.count
    return [
        DueMonth(word, sum(types.values()), ", ".join(f"{count} × {name}" for name, count in sorted(types.items())))
        for word, types in by_month.items()
    ]


def _paper_told(session: Session, paper: FolderPaper) -> dict[str, Any]:
    if paper.kind == FolderKind.CERTIFICATE:
        row = get_certificate(session, paper.id)
        return {"paper": paper, "summary": row.data["summary"]["sentence"], "code": row.code}
    about_money = paper.kind.is_money
    code = find_code_of(session, paper.kind.value, paper.id) if about_money else get_paper(session, paper.id).code
    return {"paper": paper, "summary": "", "code": code}


def _visit_told(
    session: Session, visit_id: int, papers: list[FolderPaper], items: list[OpenItem], shared: dict[str, Any]
) -> tuple[str, dict[str, Any]]:
    rows = list_certificates_of_visit(session, visit_id)
    # While a correction is being made, the certificate before it still holds.
    certificate = next((row for row in rows if row.standing == Standing.ISSUED), None)
    if certificate is None:
        void = next((row for row in rows if row.void is not None), None)
        return ("share/void.html", {"certificate": void}) if void else ("", {})
    return "share/show.html", shared | {
        "certificate": certificate,
        "earlier": [row for row in rows if row.id < certificate.id and row.state == "issued"],
        "invoices": [paper for paper in papers if paper.kind == FolderKind.INVOICE],
        "lists": [paper for paper in papers if not paper.kind.is_money and paper.kind != FolderKind.CERTIFICATE],
        "parts": list_paper_parts(session, "certificate", certificate.id),
        "after": [paper for paper in papers if paper.kind.is_money and paper.kind != FolderKind.INVOICE],
        "open_items": {each.item.number: each for each in items if each.item.state != ItemState.WITHDRAWN},
        **_told_from(certificate),
    }


def _told_from(certificate: CertificateRow) -> dict[str, Any]:
    """The certificate's own data, in the order a customer needs: what failed first, urgent before the rest."""
    paper = certificate.data
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
