"""The customer's side: one visit's papers behind a secret address, and nothing of anybody else.

Practice: W3C TAG, Good Practices for Capability URLs.
"""

import re
from html import unescape

import pytest

from app.actions import certificates, customers, invoices, items, share_links
from app.actions.deeds import Desk
from app.actions.tested_items import REMEDY_USUAL
from app.rules.checks import Check
from app.rules.customers import ContactDetails, CustomerDetails
from app.rules.entries import Entry
from app.rules.items import ItemDetails
from app.rules.verdicts import Outcome
from app.store.customers import get_customer
from app.store.share_links import get_share_link, list_share_links
from tests.cast import Browse, BrowseAs, Clock, World
from tests.documents.reading_back import text_of
from tests.finished_visits import GOOD, earth, work_through
from tests.kept_rows import as_kept

OURS, THEIRS = "heron", "otter"
FAILED = (
    [GOOD[0][0], earth("0.42")],
    [Entry(Check.VISUAL, outcome=Outcome.FAIL, note="Cord cut near the plug <b>bare</b>")],
    GOOD[2],
)


@pytest.fixture
def shared(desk: Desk, world: World) -> World:
    """Two customers whose every name holds a word of its own, each with a finished and certified visit."""
    return as_kept(desk, _shared, world)


def _shared(desk: Desk, world: World) -> World:
    with desk.doing(world.office) as deed:
        for customer_id, location_id, word in (
            (world.customer_id, world.location_id, OURS),
            (world.other_customer_id, world.other_location_id, THEIRS),
        ):
            name = get_customer(deed.session, customer_id).name
            customers.change_customer(
                deed, customer_id, CustomerDetails(f"{name} {word}", f"1 {word} Street\nMillbeck", "ZZ1 1AA")
            )
            customers.add_contact(deed, customer_id, ContactDetails(f"{word} Contact", email=f"{word}@example.com"))
            items.add_item(deed, ItemDetails("", f"Heater {word}", location_id, serial=f"{word}-1"))
    work_through(desk, world.technician, world.visit_id, (*FAILED, []), left_out=3)
    work_through(desk, world.technician, world.other_visit_id, (*GOOD, []), left_out=3)
    for visit_id in (world.visit_id, world.other_visit_id):
        certificates.issue_certificate(desk, world.office, visit_id)
    return world


def make(desk: Desk, world: World, visit_id: int, days: int = 90) -> str:
    with desk.doing(world.office) as deed:
        return share_links.make_share_link(deed, visit_id, days)


def bill(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        invoice_id = invoices.draft_invoice(deed, world.visit_id).id
    invoices.issue_invoice(desk, world.office, invoice_id)


@pytest.fixture
def nobody(browse_as: BrowseAs) -> Browse:
    return browse_as(None)


def words_of(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def test_the_page_says_what_was_found_and_what_to_do(desk: Desk, shared: World, nobody: Browse) -> None:
    page = nobody.get(f"/s/{make(desk, shared, shared.visit_id)}")
    assert page.status_code == 200
    said = words_of(page.text)
    for words in (
        "Tarn & Alder Electrical Testing",
        "01632 960101",
        "Brackenhow Primary School main site",
        "Tested 4 March 2026",
        "1 of 4 items passed. 2 failed.",
        "Kettle Item 0001 · Staff room",
        "Urgent: it could hurt somebody.",
        "Its safety earth is not good enough",
        "0.42 Ω, at most 0.139 Ω",
        "Cord cut near the plug <b>bare</b>",
        REMEDY_USUAL,
        "Heater heron Item 0004 · Staff room Not tested: not found",
        "Staff room 4 items · 2 failed",
        "dutyholder",
        "opens until 2 Jun 2026",
    ):
        assert words in said.replace("\u00a0", " "), words
    assert "<b>bare</b>" not in page.text  # what a technician typed is text, not markup


def test_failed_items_come_before_the_full_list(desk: Desk, shared: World, nobody: Browse) -> None:
    said = words_of(nobody.get(f"/s/{make(desk, shared, shared.visit_id)}").text)
    places = [said.index(words) for words in ("Out of use now", "What was found", "Not tested:", "Every item")]
    assert places == sorted(places)


def test_a_visit_without_failures_says_so(desk: Desk, shared: World, nobody: Browse) -> None:
    said = words_of(nobody.get(f"/s/{make(desk, shared, shared.other_visit_id)}").text)
    assert "3 of 4 items passed" in said
    assert "What to do" not in said
    assert "Due" in said


def test_a_link_shows_nothing_of_another_customer(desk: Desk, shared: World, nobody: Browse) -> None:
    bill(desk, shared)
    for visit_id, own, foreign in ((shared.visit_id, OURS, THEIRS), (shared.other_visit_id, THEIRS, OURS)):
        address = f"/s/{make(desk, shared, visit_id)}"
        told = [nobody.get(address).text, text_of(nobody.get(f"{address}/certificate.pdf").content)]
        if visit_id == shared.visit_id:
            told.append(text_of(nobody.get(f"{address}/invoice.pdf").content))
        for text in told:
            assert own in text.lower()
            assert foreign not in text.lower()


def test_a_link_opens_the_papers_of_its_visit_only(desk: Desk, shared: World, nobody: Browse) -> None:
    address = f"/s/{make(desk, shared, shared.other_visit_id)}"
    assert nobody.get(f"{address}/invoice.pdf").status_code == 404  # not issued
    with desk.doing(shared.office) as deed:
        invoices.draft_invoice(deed, shared.other_visit_id)
    assert nobody.get(f"{address}/invoice.pdf").status_code == 404  # a draft is nobody's
    assert "Invoice" not in words_of(nobody.get(address).text)
    for path in ("/certificates/1", "/certificates/1/paper.pdf", "/invoices/1", "/share-links", "/"):
        assert nobody.get(path).headers["location"].startswith("/sign-in")


def test_the_papers_are_downloads_with_a_name_that_says_what_they_are(
    desk: Desk, shared: World, nobody: Browse
) -> None:
    bill(desk, shared)
    address = f"/s/{make(desk, shared, shared.visit_id)}"
    certificate, invoice = nobody.get(f"{address}/certificate.pdf"), nobody.get(f"{address}/invoice.pdf")
    place = "Brackenhow Primary School main site"
    assert certificate.headers["content-disposition"] == (
        f'attachment; filename="Certificate C-000001 {place} 2026-03-04.pdf"'
    )
    assert invoice.headers["content-disposition"].startswith('attachment; filename="Invoice INV-000001 Brackenhow')
    assert certificate.content == (desk.papers_folder / "C-000001.pdf").read_bytes()
    assert invoice.content == (desk.papers_folder / "INV-000001.pdf").read_bytes()
    said = words_of(nobody.get(address).text)
    assert "Invoice INV-000001" in said
    assert "to be paid by 3\u00a0Apr\u00a02026" in unescape(nobody.get(address).text)


def test_unknown_expired_and_withdrawn_get_one_and_the_same_answer(
    desk: Desk, shared: World, nobody: Browse, clock: Clock
) -> None:
    expired, withdrawn = make(desk, shared, shared.visit_id, days=1), make(desk, shared, shared.visit_id)
    with desk.doing(shared.office) as deed:
        share_links.withdraw_share_link(deed, list_share_links(deed.session)[0].id)
    clock.pass_time(days=2)
    told = []
    for token in ("never-made", expired, withdrawn, "x" * 500):
        for path in ("", "/certificate.pdf", "/invoice.pdf"):
            answer = nobody.get(f"/s/{token}{path}")
            headers = {name: value for name, value in answer.headers.items() if name not in ("date", "content-length")}
            told.append((answer.status_code, answer.text, headers))
    assert all(each == told[0] for each in told)
    assert told[0][0] == 404
    assert "does not open any more" in told[0][1]
    assert "office@tarn-alder.example" in told[0][1]


def test_a_withdrawn_link_is_dead_at_the_next_request(
    desk: Desk, shared: World, nobody: Browse, browse_as: BrowseAs
) -> None:
    address = f"/s/{make(desk, shared, shared.visit_id)}"
    assert nobody.get(address).status_code == 200
    assert browse_as(shared.office).post("/share-links/1/withdraw").status_code == 303
    assert nobody.get(address).status_code == 404
    assert nobody.get(f"{address}/certificate.pdf").status_code == 404
    assert browse_as(shared.office).post("/share-links/1/withdraw").status_code == 409


def test_openings_are_counted_by_get_of_the_page_only(desk: Desk, shared: World, nobody: Browse) -> None:
    address = f"/s/{make(desk, shared, shared.visit_id)}"
    nobody.get(address)
    nobody.get(address)
    head = nobody.send("HEAD", address)
    assert (head.status_code, head.text) == (200, "")
    assert nobody.send("HEAD", "/s/never-made").status_code == 404
    nobody.get(f"{address}/certificate.pdf")
    nobody.get("/s/never-made")
    with desk.reading_only() as session:
        assert get_share_link(session, 1).openings == 2


def test_guessing_is_slowed_and_ends_after_a_minute(desk: Desk, shared: World, nobody: Browse, clock: Clock) -> None:
    address = f"/s/{make(desk, shared, shared.visit_id)}"
    answers = [nobody.get(f"/s/guess-{number}").status_code for number in range(32)]
    assert answers == [404] * 30 + [429] * 2
    slowed = nobody.get(address)
    assert (slowed.status_code, slowed.headers["retry-after"]) == (429, "60")
    assert nobody.get("/check/2222-2222-2222-2222").status_code == 429
    clock.pass_time(seconds=61)
    assert nobody.get(address).status_code == 200


def test_a_paper_that_is_not_what_was_issued_is_not_given_out(desk: Desk, shared: World, nobody: Browse) -> None:
    address = f"/s/{make(desk, shared, shared.visit_id)}"
    (desk.papers_folder / "C-000001.pdf").write_bytes(b"%PDF-1.7 something else")
    answer = nobody.get(f"{address}/certificate.pdf")
    assert answer.status_code == 409
    assert "SHA-256" not in answer.text
    assert "Please tell us" in answer.text


def test_the_page_keeps_its_address_to_itself(desk: Desk, shared: World, nobody: Browse) -> None:
    answer = nobody.get(f"/s/{make(desk, shared, shared.visit_id)}")
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert answer.headers["cache-control"] == "no-store"
    assert "noindex" in answer.headers["x-robots-tag"]
    outside = [url for url in re.findall(r'(?:href|src|action)="([^"]+)"', answer.text) if "//" in url]
    assert outside == []


def test_a_link_stays_open_when_the_customers_details_change(desk: Desk, shared: World, nobody: Browse) -> None:
    address = f"/s/{make(desk, shared, shared.visit_id)}"
    with desk.doing(shared.office) as deed:
        customers.change_customer(deed, shared.customer_id, CustomerDetails("New name since"))
    said = nobody.get(address).text
    assert "New name since" not in said  # the certificate says what it said on the day
