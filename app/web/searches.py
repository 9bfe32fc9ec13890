"""One search box over customers, premises, items, visits, papers and instruments, as far as the person may see them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.rules.labels import describe_label_address, parse_label_address
from app.rules.people import Person, Role
from app.rules.searches import WITHOUT_MONEY, Subject, list_search_words, parse_search
from app.store.searches import list_beginning_with, list_exact, list_named
from app.web.access import ACCESS
from app.web.filters import show_day
from app.web.kit import Asked, Reading, ThePerson, go, page

routes = APIRouter()
#: So many of one kind on the page, and while somebody types.
MOST, FEW = 25, 5


@dataclass(frozen=True)
class Line:
    """One thing found: where it is, what it is called, and what else tells it apart."""

    href: str
    title: str
    under: str = ""
    state: str = ""


@dataclass(frozen=True)
class Group:
    """What was found of one kind; more says that there is more than is shown."""

    heading: str
    lines: tuple[Line, ...]
    more: bool


HEADINGS = {
    Subject.CUSTOMER: "Customers",
    Subject.PREMISES: "Premises",
    Subject.ITEM: "Items",
    Subject.VISIT: "Visits",
    Subject.CERTIFICATE: "Certificates",
    Subject.PAPER: "Registers, defect lists, papers of items",
    Subject.QUOTE: "Quotes",
    Subject.INVOICE: "Invoices",
    Subject.CREDIT_NOTE: "Credit notes",
    Subject.CLAIM: "Claims for late payment",
    Subject.INSTRUMENT: "Instruments",
}

LINES: dict[Subject, Callable[[Any], Line]] = {
    Subject.CUSTOMER: lambda row: Line(f"/customers/{row.id}", row.name, row.postcode),
    Subject.PREMISES: lambda row: Line(
        f"/premises/{row.id}", row.name, ", ".join(part for part in (row.customer.name, row.postcode) if part)
    ),
    Subject.ITEM: lambda row: Line(
        f"/items/{row.id}",
        f"{row.number} {row.description}",
        ", ".join((row.location.name, row.premises.name, row.customer.name)),
        "" if row.state == "in use" else row.state,
    ),
    Subject.VISIT: lambda row: Line(
        f"/visits/{row.id}", f"Visit {row.id}, {show_day(row.booked_on)}", f"{row.premises.name}, {row.customer.name}",
        row.state,
    ),
    Subject.CERTIFICATE: lambda row: Line(f"/certificates/{row.id}", row.number, row.customer.name),
    Subject.PAPER: lambda row: Line(
        f"/papers/{row.id}", row.number, ", ".join((row.kind.capitalize(), row.subject, row.customer.name))
    ),
    Subject.QUOTE: lambda row: Line(f"/quotes/{row.id}", row.number, row.customer.name),
    Subject.INVOICE: lambda row: Line(f"/invoices/{row.id}", row.number, row.customer.name),
    Subject.CREDIT_NOTE: lambda row: Line(f"/credit-notes/{row.id}", row.number, row.customer.name),
    # A claim has no page of its own; it stands on that of its invoice.
    Subject.CLAIM: lambda row: Line(f"/invoices/{row.invoice_id}", row.number, row.customer.name),
    Subject.INSTRUMENT: lambda row: Line(f"/instruments/{row.id}", row.name, row.serial),
}  # fmt: skip

#: Pages of Ohmstead that are found by name: address, what it is called, and what else somebody may type for it.
PAGES = (
    ("/due", "Due", "overdue retest"),
    ("/planner", "Planner", "calendar booking"),
    ("/instruments", "Instruments", "tester calibration"),
    ("/equipment-types", "Equipment types", "own test sequence"),
    ("/rulebooks", "Rulebooks", "limits standards EN 50699 Code of Practice figures"),
    ("/rulebooks/compare", "What differs between rulebooks", "compare limits"),
    ("/house-limits", "House limits", "own stricter"),
    ("/settings/judging", "What visits are judged by", "settings rulebook decision rule guard band dielectric"),
    ("/one-off-check", "One-off check", "try judge readings"),
    ("/evidence", "Evidence", "intervals failure rate"),
    ("/defects", "Defects", "open failed"),
    ("/recalls", "Recalls", "recalled products"),
    ("/tablets", "Tablets", "offline entries"),
    ("/prices", "Prices", "price list"),
    ("/people", "People", "sign-ins technicians"),
    ("/settings", "Settings", "firm details logo VAT bank"),
    ("/journal", "Journal", "who did what history"),
)


@routes.get("/find")
def show_found(request: Request, session: Reading, person: ThePerson, asked: Asked) -> Response:
    """What was found. A scanned label, and a number that only one thing has, open it at once."""
    search = asked.text("q", most=400)
    if label := parse_label_address(search):
        return go(describe_label_address("", label.customer_id, label.number))
    exact = list_exact(session, "".join(list_search_words(search)), _subjects(person), 2)
    if len(exact) == 1:
        ((subject, row_id),) = exact
        return go(LINES[subject](list_named(session, subject, [row_id])[0]).href)
    groups = _groups(session, person, search, MOST)
    return page(request, "searches/show.html", search=search, groups=groups, few=False)


@routes.get("/find/parts/results")
def part_results(request: Request, session: Reading, person: ThePerson, asked: Asked) -> Response:
    search = asked.text("q", most=400)
    groups = _groups(session, person, search, FEW)
    return page(request, "searches/_results.html", search=search, groups=groups, few=True)


def _subjects(person: Person) -> Sequence[Subject]:
    return tuple(Subject) if person.role != Role.TECHNICIAN else WITHOUT_MONEY


def _groups(session: Session, person: Person, search: str, most: int) -> list[Group]:
    words, code = parse_search(search), "".join(list_search_words(search))
    subjects = _subjects(person)
    exact = list_exact(session, code, subjects, most)
    groups = []
    for subject in subjects:
        first = [row_id for each, row_id in exact if each is subject]
        ids = list(dict.fromkeys((*first, *list_beginning_with(session, words, subject, most + 1))))
        if rows := list_named(session, subject, ids[:most]):
            lines = tuple(LINES[subject](row) for row in rows)
            groups.append(Group(HEADINGS[subject], lines, len(ids) > most))
    if pages := _pages(person, words):
        groups.append(Group("Pages", pages, False))
    return groups


def _pages(person: Person, words: Sequence[str]) -> tuple[Line, ...]:
    """The pages that a person may open and that each word begins a name of."""
    found = []
    for href, title, more in PAGES:
        names = list_search_words(title, more)
        known = bool(words) and all(any(name.startswith(word) for name in names) for word in words)
        if known and person.role in ACCESS["GET", href]:
            found.append(Line(href, title))
    return tuple(found)
