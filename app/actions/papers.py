"""Issuing registers, lists of defects, and certificates and histories of single items, as certificates are issued:
number and data first, then the paper, then its hash; a crash between is finished later.

Whoever asks twice on one day for what would say the same gets the one paper, so a second press makes no second number.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any

from app.actions.deeds import Deed, Desk
from app.actions.drawings import begin_drawing
from app.actions.paper_codes import new_code
from app.actions.paper_files import finish_each, open_paper
from app.actions.paper_parts import KeptPaper, draw_and_settle
from app.documents.defect_list import defect_list_from
from app.documents.item_history import item_history_from
from app.documents.parts import parted_data_from
from app.documents.register import register_from
from app.rules.papers import PaperHead, PaperKind, may_issue_paper, number_paper
from app.rules.people import Person
from app.rules.verdicts import Refused
from app.store.customers import CustomerRow, get_customer
from app.store.firms import get_firm, next_in_series
from app.store.history_facts import facts_for_history
from app.store.items import get_item
from app.store.paper_facts import facts_of_customer, facts_of_premises
from app.store.papers import PaperRow, get_paper, list_papers_alike, list_pending_papers
from app.store.premises import PremisesRow, get_premises
from app.store.register_facts import facts_for_defect_list, facts_for_item, facts_for_register

KEPT = KeptPaper("paper", get_paper, lambda row: PaperKind(row.kind).drawing)
Draw = Callable[[str, str], dict[str, Any]]
"""Gives the data of a paper for a number and a code."""


@dataclass(frozen=True)
class PaperWish:
    """Which paper is wanted. premises_id is None for all premises, item_id for papers that are about no single item."""

    kind: PaperKind
    customer_id: int
    premises_id: int | None
    as_at: date
    item_id: int | None = None
    visit_item_id: int | None = None
    purpose: str = ""


def issue_register(
    desk: Desk,
    person: Person,
    customer_id: int,
    premises_id: int | None = None,
    as_at: date | None = None,
    patience: float | None = None,
) -> int:
    """Issue the register of a premises, or of a whole customer, as of a day (today), and give its id.

    patience: seconds to wait for the paper, which is then drawn further in the background; None: until it is there.
    """
    with desk.doing(person) as deed:
        as_at = as_at or deed.today
        customer, place = _where(deed, customer_id, premises_id)
        items = facts_for_register(deed.session, customer_id, premises_id, as_at, deed.today)
        wish = PaperWish(PaperKind.REGISTER, customer_id, premises_id, as_at)
        head = _heads(deed, desk, customer, place, as_at)
        row = add_pending_paper(deed, wish, lambda number, code: register_from(head(number, code), items))
    return finish_paper(desk, person, row.id, patience)


def issue_defect_list(
    desk: Desk,
    person: Person,
    customer_id: int,
    premises_id: int | None = None,
    as_at: date | None = None,
    patience: float | None = None,
) -> int:
    """Issue the list of what is open at a premises, or at a whole customer, as of a day (today), and give its id.

    patience: as issue_register.
    """
    with desk.doing(person) as deed:
        as_at = as_at or deed.today
        customer, place = _where(deed, customer_id, premises_id)
        firm = get_firm(deed.session).name
        found = facts_for_defect_list(deed.session, customer, premises_id, as_at, deed.today, desk.zone, firm)
        wish = PaperWish(PaperKind.DEFECT_LIST, customer_id, premises_id, as_at)
        head = _heads(deed, desk, customer, place, as_at)
        row = add_pending_paper(deed, wish, lambda number, code: defect_list_from(head(number, code), found))
    return finish_paper(desk, person, row.id, patience)


def issue_item_history(desk: Desk, person: Person, item_id: int) -> int:
    """Issue the history of an item up to today, and give its id."""
    with desk.doing(person) as deed:
        item = get_item(deed.session, item_id)
        customer, place = _where(deed, item.customer_id, item.premises_id)
        facts = facts_for_item(item)
        tests, readings = facts_for_history(deed.session, item_id, deed.today)
        wish = PaperWish(PaperKind.ITEM_HISTORY, item.customer_id, item.premises_id, deed.today, item_id)
        head = _heads(deed, desk, customer, place, deed.today)
        row = add_pending_paper(
            deed, wish, lambda number, code: item_history_from(head(number, code), facts, tests, readings)
        )
    return finish_paper(desk, person, row.id)


def add_pending_paper(deed: Deed, wish: PaperWish, draw: Draw, number: str = "") -> PaperRow:
    """Freeze a paper under its number, the next of its series unless one is given; its file is still to be drawn.

    Where a paper of today says exactly the same already, that one is given instead.
    """
    get_customer(deed.session, wish.customer_id, locked=True)  # of two who press at once, the second finds the first's
    if not number:
        alike = list_papers_alike(
            deed.session,
            wish.kind,
            wish.customer_id,
            deed.today,
            premises_id=wish.premises_id,
            item_id=wish.item_id,
        )
        for row in alike:
            if _said(row.data) == _said(parted_data_from(draw(row.number, row.code))):
                return row
        number = number_paper(wish.kind, next_in_series(deed.session, wish.kind.value))
    code = new_code()
    data = parted_data_from(draw(number, code))
    row = PaperRow(
        kind=wish.kind.value,
        number=number,
        code=code,
        customer_id=wish.customer_id,
        premises_id=wish.premises_id,
        item_id=wish.item_id,
        visit_item_id=wish.visit_item_id,
        purpose=wish.purpose,
        as_at=wish.as_at,
        state="pending",
        issued_on=deed.today,
        issued_at=deed.now,
        issued_by_id=deed.doer.id,
        items=data["summary"]["items"],
        data=data,
        file_name=f"{wish.kind.drawing}-{number}.pdf",
    )
    deed.session.add(row)
    deed.session.flush()
    deed.note("paper", row.id, f"Gave the number {number} to the {wish.kind.value} of {_about(row)}.")
    return row


def _said(data: Mapping[str, Any]) -> str:
    """What a paper says, without who released it and when, as the database keeps it."""
    return json.dumps({name: value for name, value in data.items() if name != "authorised"}, sort_keys=True)


def _about(row: PaperRow) -> str:
    if row.item is not None:
        return f"item {row.item.number}, {row.customer.name}"
    return row.premises.name if row.premises is not None else row.customer.name


def _where(deed: Deed, customer_id: int, premises_id: int | None) -> tuple[CustomerRow, PremisesRow | None]:
    customer = get_customer(deed.session, customer_id)
    place = get_premises(deed.session, premises_id) if premises_id is not None else None
    if place is not None and place.customer_id != customer.id:
        raise Refused("These premises are not of this customer.")
    return customer, place


def _heads(
    deed: Deed, desk: Desk, customer: CustomerRow, place: PremisesRow | None, as_at: date
) -> Callable[[str, str], PaperHead]:
    """Gives the head of a paper for a number and a code. Refuses where none may be issued."""
    firm = get_firm(deed.session).facts
    if refused := may_issue_paper(firm, as_at, deed.today):
        raise Refused(refused)

    def head(number: str, code: str) -> PaperHead:
        return PaperHead(
            number=number,
            firm=firm,
            customer=facts_of_customer(customer, place),
            premises=facts_of_premises(place) if place is not None else None,
            as_at=as_at,
            issued_on=deed.today,
            authorised_by=deed.doer.name,
            authorised_role=deed.doer.role.value,
            authorised_at=deed.now,
            verification_url=f"{desk.public_address}/check/{code}",
            verification_code=code,
            dutyholder=customer.dutyholder,
        )

    return head


def finish_paper(desk: Desk, person: Person | None, paper_id: int, patience: float | None = None) -> int:
    """Draw a pending paper, keep its files, and mark it issued with its hash; gives its id. patience: as above."""
    begin_drawing(desk, KEPT.noun, paper_id, partial(draw_and_settle, desk, person, KEPT, paper_id), patience)
    return paper_id


def finish_pending_papers(desk: Desk) -> int:
    """Draw every paper that a crash left pending; gives their number."""
    with desk.reading_only() as session:
        pending = [row.id for row in list_pending_papers(session)]
    return finish_each(pending, partial(finish_paper, desk, None))


def open_issued_paper(desk: Desk, row: PaperRow) -> bytes:
    """The PDF of an issued paper, checked against its hash."""
    if row.state != "issued":
        raise Refused(f"Paper {row.number} is still being made. Try again in a moment.")
    return open_paper(desk.papers_folder, row.file_name, row.sha256)
