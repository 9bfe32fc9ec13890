"""Every paper of a customer, of premises or of a visit in one list: never another's, money only where it is wanted."""

import pytest

from app.actions import certificates, invoices, items, premises, visits
from app.actions.credit_notes import CreditRequest, issue_credit_note
from app.actions.deeds import Desk
from app.actions.drafts import draft_invoice_of_visits
from app.actions.papers import issue_register
from app.actions.share_links import share
from app.rules.credit_notes import CreditWish
from app.rules.customers import PremisesDetails
from app.rules.equipment import Environment
from app.rules.items import ItemDetails
from app.rules.share_links import FolderKind, LinkScope
from app.rules.verdicts import Refused
from app.rules.visits import Booking
from app.store.database import Missing
from app.store.folders import KINDS, find_in_folder, list_folder
from tests.cast import KETTLE, World
from tests.finished_visits import GOOD, work_through
from tests.kept_rows import as_kept


@pytest.fixture
def annexe(desk: Desk, world: World) -> int:
    """Second premises of the first customer, whose visits stand on one invoice; the other customer has its own."""
    return as_kept(desk, _annexe, world)


def _annexe(desk: Desk, world: World) -> int:
    with desk.doing(world.office) as deed:
        details = PremisesDetails("Annexe", "3 Low Street\nMillbeck", "ZZ1 1AB", Environment.SCHOOL)
        place = premises.add_premises(deed, world.customer_id, details)
        room = premises.add_location(deed, place.id, "Hall")
        items.add_item(deed, ItemDetails("", "Kettle", room.id, facts=KETTLE))
        booking = Booking(place.id, world.technician.id, world.instrument_id, desk.today)
        visit_id = visits.book_visit(deed, booking).id
    for each in (world.visit_id, world.other_visit_id):
        work_through(desk, world.technician, each)
    work_through(desk, world.technician, visit_id, GOOD[:1])
    for each in (world.visit_id, world.other_visit_id, visit_id):
        certificates.issue_certificate(desk, world.office, each)
    with desk.doing(world.office) as deed:
        both = draft_invoice_of_visits(deed, [world.visit_id, visit_id]).id
        other = invoices.draft_invoice(deed, world.other_visit_id).id
    for invoice_id in (both, other):
        invoices.issue_invoice(desk, world.office, invoice_id)
    issue_credit_note(desk, world.office, other, CreditRequest((CreditWish(0),), "Counted twice", desk.today))
    issue_register(desk, world.office, world.customer_id, None)
    return place.id


def titles(desk: Desk, scope: LinkScope) -> list[str]:
    with desk.reading_only() as session:
        return sorted(paper.title for paper in list_folder(session, scope))


def test_a_folder_holds_what_its_scope_names_and_nothing_else(desk: Desk, world: World, annexe: int) -> None:
    ours, theirs = world.customer_id, world.other_customer_id
    register = "Register REG-000001"
    assert titles(desk, LinkScope(ours)) == ["Certificate C-000001", "Certificate C-000003", register]
    assert titles(desk, LinkScope(ours, with_money=True)) == [
        "Certificate C-000001", "Certificate C-000003", "Invoice INV-000001", register,
    ]  # fmt: skip
    assert titles(desk, LinkScope(theirs, with_money=True)) == [
        "Certificate C-000002", "Credit note CN-000001", "Invoice INV-000002",
    ]  # fmt: skip
    # The register of all premises, and an invoice for two of them, tell of the others too.
    assert titles(desk, LinkScope(ours, premises_id=annexe, with_money=True)) == ["Certificate C-000003"]
    assert titles(desk, LinkScope(theirs, premises_id=world.other_premises_id, with_money=True)) == [
        "Certificate C-000002", "Credit note CN-000001", "Invoice INV-000002",
    ]  # fmt: skip
    assert titles(desk, LinkScope(ours, visit_id=world.visit_id)) == ["Certificate C-000001"]
    assert titles(desk, LinkScope(ours, paper=(FolderKind.INVOICE, 1), with_money=True)) == ["Invoice INV-000001"]


def test_no_swap_of_ids_opens_another_customers_paper(desk: Desk, world: World, annexe: int) -> None:
    with desk.reading_only() as session:
        scopes = [
            LinkScope(customer_id, premises_id=place, visit_id=visit, with_money=money)
            for customer_id in (world.customer_id, world.other_customer_id)
            for place in (None, world.premises_id, annexe, world.other_premises_id)
            for visit in (None, world.visit_id, world.other_visit_id)
            for money in (False, True)
            if place is None or visit is None
        ]
        whose = {(kind, paper.id): paper for each in scopes for kind in KINDS for paper in KINDS[kind](session, each)}
        assert len(whose) == 7
        everything = {
            customer_id: {paper.key for paper in list_folder(session, LinkScope(customer_id, with_money=True))}
            for customer_id in (world.customer_id, world.other_customer_id)
        }
        for scope in scopes:
            for kind, paper_id in whose:
                found = find_in_folder(session, scope, kind, paper_id)
                assert found is None or (kind, paper_id) in everything[scope.customer_id]
                assert found is None or scope.with_money or not kind.is_money


def test_nothing_of_another_customer_gets_a_link(desk: Desk, world: World, annexe: int) -> None:
    theirs = world.other_customer_id
    for scope in (LinkScope(theirs, premises_id=annexe), LinkScope(theirs, visit_id=world.visit_id)):
        with pytest.raises(Missing), desk.doing(world.office) as deed:
            share(deed, scope)
    with pytest.raises(Refused, match="issued"), desk.doing(world.office) as deed:
        share(deed, LinkScope(theirs, paper=(FolderKind.CERTIFICATE, 1)))
