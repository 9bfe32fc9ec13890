"""Links to a folder and to one paper, on the customer's side: W3C TAG, Good Practices for Capability URLs, row by row.

What is not here stands in tests/rules/test_share_links.py, tests/actions/test_share_links.py, tests/web/test_share.py
and tests/web/test_headers.py.
"""

import io
import logging
import re
import sqlite3
import zipfile
from collections import Counter
from pathlib import Path

import pytest

from app.actions import certificates, invoices
from app.actions.deeds import Desk
from app.actions.share_links import share
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.share_links import DAYS_USUAL, FolderKind, LinkScope
from app.rules.verdicts import Outcome
from app.store.share_links import get_share_link, list_share_links
from app.store.tasks import list_tasks
from app.web.kit import FORM_TOKEN
from tests.cast import Browse, BrowseAs, Clock, World
from tests.finished_visits import GOOD, work_through
from tests.kept_rows import as_kept
from tests.pictures import jpeg_segments, photo
from tests.web.page_text import words_of

CUT = [Entry(Check.VISUAL, outcome=Outcome.FAIL, note="Cord cut <b>bare</b>")]


@pytest.fixture
def shared(desk: Desk, world: World) -> World:
    """Both customers have a certificate, an invoice, and a drill that failed."""
    return as_kept(desk, _shared, world)


def _shared(desk: Desk, world: World) -> World:
    for visit_id in (world.visit_id, world.other_visit_id):
        work_through(desk, world.technician, visit_id, (GOOD[0], CUT, GOOD[2]))
        certificates.issue_certificate(desk, world.office, visit_id)
        with desk.doing(world.office) as deed:
            invoice_id = invoices.draft_invoice(deed, visit_id).id
        invoices.issue_invoice(desk, world.office, invoice_id)
    return world


def make(desk: Desk, world: World, scope: LinkScope, days: int | None = DAYS_USUAL) -> str:
    with desk.doing(world.office) as deed:
        return f"/s/{share(deed, scope, days)}"


@pytest.fixture
def nobody(browse_as: BrowseAs) -> Browse:
    return browse_as(None)


def write(nobody: Browse, address: str, fields: dict[str, str], picture: bytes = b"") -> int:
    """Open a form as a browser does, and send it with the token it was given."""
    form = nobody.get(address)
    assert form.headers["referrer-policy"] == "same-origin"
    [token] = set(re.findall(r'name="csrf" value="([^"]+)"', form.text))
    files = {"photo": ("IMG_0001.JPG", picture, "image/jpeg")} if picture else None
    return nobody.send("POST", address, data={"csrf": token, **fields}, files=files).status_code


def test_a_folder_shows_papers_what_is_open_and_what_is_due(desk: Desk, shared: World, nobody: Browse) -> None:
    said = words_of(nobody.get(make(desk, shared, LinkScope(shared.customer_id))))
    for words in ("Brackenhow Primary School", "To be put right", "Cord cut <b>bare</b>", "March 2027", "2 items",
                  "Certificate C-000001", "opens until 2 Jun 2026"):  # fmt: skip
        assert words in said.replace("\u00a0", " "), words
    assert "Saltgate" not in said and "£" not in said and "Invoice" not in said
    said = words_of(nobody.get(make(desk, shared, LinkScope(shared.customer_id, with_money=True))))
    assert "Invoice INV-000001" in said and "£" in said and "INV-000002" not in said


def test_a_link_opens_no_paper_of_another_scope(desk: Desk, shared: World, nobody: Browse) -> None:
    """Rights to a resource: the table of every address of a paper against every kind of link."""
    ours, theirs = shared.customer_id, shared.other_customer_id
    addresses = {
        ("certificate", 1): (ours, False), ("certificate", 2): (theirs, False),
        ("invoice", 1): (ours, True), ("invoice", 2): (theirs, True),
    }  # fmt: skip
    paper = LinkScope(ours, paper=(FolderKind.CERTIFICATE, 1))
    scopes = [
        paper,
        *(LinkScope(customer, premises_id=place, with_money=money)
          for customer, place in ((ours, None), (ours, shared.premises_id), (theirs, shared.other_premises_id))
          for money in (False, True)),
    ]  # fmt: skip
    for scope in scopes:
        link = make(desk, shared, scope)
        for (slug, paper_id), (whose, money) in addresses.items():
            may = whose == scope.customer_id and (scope.with_money or not money)
            status = nobody.get(f"{link}/papers/{slug}/{paper_id}.pdf").status_code
            assert status == (200 if may else 404), (scope, slug, paper_id)
        may = scope.with_money and scope.customer_id == ours
        assert nobody.get(f"{link}/papers/invoice/1/ubl.xml").status_code == (200 if may else 404)
    link = make(desk, shared, paper)
    assert nobody.get(link).status_code == 200
    for path in (
        "/ask-for-a-visit",
        f"/items/{shared.item_ids[1]}/put-right",
        "/papers/quote/1.pdf",
        "/papers/x/1.pdf",
    ):
        assert nobody.get(f"{link}{path}").status_code == 404
    folder = make(desk, shared, LinkScope(ours))
    assert nobody.get(f"{folder}/items/{shared.other_item_ids[1]}/put-right").status_code == 404
    assert nobody.get(f"{folder}/items/{shared.item_ids[0]}/put-right").status_code == 404  # nothing is wrong with it


def test_the_zip_holds_the_papers_byte_for_byte(desk: Desk, shared: World, nobody: Browse) -> None:
    link = make(desk, shared, LinkScope(shared.customer_id, with_money=True))
    answer = nobody.get(f"{link}/everything.zip")
    assert answer.headers["content-disposition"] == (
        'attachment; filename="Papers Brackenhow Primary School 2026-03-04.zip"'
    )
    archive = zipfile.ZipFile(io.BytesIO(answer.content))
    assert archive.testzip() is None
    place = "Brackenhow Primary School main site"
    assert set(archive.namelist()) == {
        f"Certificate C-000001 {place} 2026-03-04.pdf",
        "Invoice INV-000001 Brackenhow Primary School 2026-03-04.pdf",
        "SHA256SUMS",
    }
    for name in archive.namelist()[:2]:
        number = name.split()[1]
        assert archive.read(name) == (desk.papers_folder / f"{number}.pdf").read_bytes()
    assert nobody.get(f"{link}/everything.zip").content == answer.content


def test_a_paper_that_is_not_in_order_is_named_and_left_out(desk: Desk, shared: World, nobody: Browse) -> None:
    link = make(desk, shared, LinkScope(shared.customer_id, with_money=True))
    (desk.papers_folder / "C-000001.pdf").write_bytes(b"%PDF-1.7 something else")
    archive = zipfile.ZipFile(io.BytesIO(nobody.get(f"{link}/everything.zip").content))
    assert "C-000001" not in " ".join(archive.namelist())
    assert "Certificate C-000001" in archive.read("Papers that could not be added.txt").decode()


def test_the_customers_word_reaches_the_office_and_nothing_else_changes(
    desk: Desk, shared: World, nobody: Browse, browse_as: BrowseAs
) -> None:
    link, drill = make(desk, shared, LinkScope(shared.customer_id)), shared.item_ids[1]
    fields = {"said": "New cord, by our electrician\n<script>", "name": "Ada Lomas", "contact": "01632 960123"}
    assert write(nobody, f"{link}/items/{drill}/put-right", fields, photo(900, 600)) == 303
    assert write(nobody, f"{link}/ask-for-a-visit", {"name": "Ada", "contact": "ada@example.com"}) == 303
    assert "reached our office" in words_of(nobody.get(f"{link}/received"))
    said = words_of(nobody.get(link))
    assert "You told us on 4 Mar 2026 that it is put right" in said.replace("\u00a0", " ")
    office = browse_as(shared.office)
    home = words_of(office.get("/"))
    assert "Said to be put right: 0002 Drill" in home and "Asks for a visit" in home
    task = office.get("/tasks/1")
    assert "<script>" in words_of(task) and "by our electrician\n&lt;script&gt;" in task.text
    [path] = re.findall(r'<img src="(/tasks/1/photos/\d+)"', task.text)
    content = office.get(path).content
    assert not {"APP1", "COM"} & set(jpeg_segments(content))
    assert "out of use" in words_of(office.get(f"/items/{drill}"))
    technician = browse_as(shared.technician)
    assert [technician.get(each).status_code for each in ("/tasks/1", path)] == [404, 404]
    assert "Said to be put right" not in words_of(technician.get("/tasks"))
    assert office.post("/tasks/1/take", {"person_id": str(shared.technician.id), "version": "1"}).status_code == 303
    assert "Said to be put right" in words_of(technician.get("/"))
    assert technician.get(path).status_code == 200
    assert technician.post("/tasks/1/done", {"note": "", "version": "2"}).status_code == 422
    assert technician.post("/tasks/1/done", {"note": "Looked at it", "version": "2"}).status_code == 303


def test_a_form_with_mistakes_comes_back_and_whoever_goes_on_is_slowed(
    desk: Desk, shared: World, nobody: Browse
) -> None:
    link = make(desk, shared, LinkScope(shared.customer_id))
    address = f"{link}/items/{shared.item_ids[1]}/put-right"
    nobody.get(address)
    token = nobody.cookies[FORM_TOKEN]
    answer = nobody.post(address, {"csrf": token, "said": "New cord", "name": ""})
    assert answer.status_code == 422 and "New cord" in answer.text and "Give your name" in answer.text
    assert nobody.post(address, {"csrf": token, "said": "x" * 1001, "name": "Ada"}).status_code == 422
    big = nobody.send(
        "POST", address, data={"csrf": token, "said": "x", "name": "A"}, files={"photo": b"x" * 8_000_001}
    )
    assert big.status_code == 422 and "larger than 8" in big.text
    for _ in range(27):
        assert nobody.post(address, {"csrf": token}).status_code == 422
    assert nobody.post(address, {"csrf": token, "said": "x", "name": "Ada"}).status_code == 429
    with desk.reading_only() as session:
        assert list_tasks(session, done=None) == []


def test_one_of_two_links_to_a_paper_is_withdrawn_alone_and_an_endless_one_opens_until_then(
    desk: Desk, shared: World, nobody: Browse, browse_as: BrowseAs, clock: Clock
) -> None:
    scope = LinkScope(shared.customer_id, paper=(FolderKind.CERTIFICATE, 1))
    first, second = make(desk, shared, scope, None), make(desk, shared, scope, None)
    clock.pass_time(days=2000)
    assert nobody.get(first).status_code == 200
    assert browse_as(shared.office).post("/share-links/1/withdraw").status_code == 303
    assert [nobody.get(each).status_code for each in (first, f"{first}/papers/certificate/1.pdf")] == [404, 404]
    assert nobody.get(second).status_code == 200


def test_looking_changes_nothing_but_the_count(desk: Desk, shared: World, nobody: Browse, tmp_path: Path) -> None:
    """Mail scanners fetch every address of a message."""
    link = make(desk, shared, LinkScope(shared.customer_id, with_money=True))

    def rows() -> list[str]:
        with sqlite3.connect(tmp_path / "ohmstead.db") as connection:
            return [line for line in connection.iterdump() if 'INTO "share_links"' not in line]

    before = rows()
    for path in ("", "/everything.zip", f"/items/{shared.item_ids[1]}/put-right", "/ask-for-a-visit", "/received",
                 "/papers/invoice/1.pdf", "/papers/invoice/1/cii.xml"):  # fmt: skip
        assert nobody.get(f"{link}{path}").status_code == 200
        assert nobody.send("HEAD", f"{link}{path}").status_code in (200, 404)
    assert rows() == before
    with desk.reading_only() as session:
        row = get_share_link(session, 1)
        assert (row.openings, row.withdrawn_at) == (1, None)


def test_tokens_are_random_and_kept_nowhere(
    desk: Desk, shared: World, nobody: Browse, browse_as: BrowseAs, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """1,200 tokens: none twice, and their letters spread evenly by a chi-square test at 0.1 %.

    63 degrees of freedom: 103.4 (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4).
    """
    with desk.doing(shared.office) as deed:
        tokens = [share(deed, LinkScope(shared.customer_id)) for _ in range(1200)]
    assert len(set(tokens)) == 1200 and all(len(token) == 43 for token in tokens)
    letters = Counter("".join(token[:42] for token in tokens))  # the last letter carries four bits alone
    expected = 1200 * 42 / 64
    assert len(letters) == 64
    assert sum((count - expected) ** 2 / expected for count in letters.values()) < 103.4
    with caplog.at_level(logging.DEBUG, logger="ohmstead"):
        for token in tokens[:20]:
            nobody.get(f"/s/{token}")
            nobody.get(f"/s/{token}/papers/invoice/1.pdf")
    office = browse_as(shared.office)
    pages = [office.get(path).text for path in ("/share-links", f"/customers/{shared.customer_id}", "/tasks")]
    kept = b"".join(file.read_bytes() for file in tmp_path.glob("ohmstead.db*")) + caplog.text.encode()
    for token in tokens[:20]:
        assert token.encode() not in kept and not any(token in page for page in pages)
    with desk.reading_only() as session:
        assert len(list_share_links(session)) == 1200


def test_whoever_gives_a_link_away_sees_what_it_shows(
    desk: Desk, shared: World, browse_as: BrowseAs, nobody: Browse
) -> None:
    office = browse_as(shared.office)
    for opens, row_id, allows in (
        ("customer", shared.customer_id, "everything of this customer"),
        ("premises", shared.premises_id, "every certificate of these premises"),
        ("invoice", 1, "this one paper"),
        ("visit", shared.visit_id, "the papers of this one visit"),
    ):
        asked = f"opens={opens}&id={row_id}"
        form = words_of(office.get(f"/share-links/new?{asked}"))
        assert allows in form and "without signing in" in form and "withdraw it at any time" in form
        preview = office.get(f"/share-links/preview?{asked}&money=1")
        assert preview.status_code == 200 and "Preview: this is what a link to" in words_of(preview)
        assert 'href="/s/' not in preview.text and "everything.zip" not in preview.text
        made = office.post("/share-links", {"opens": opens, "id": str(row_id), "days": "90", "with_money": "yes"})
        [address] = set(re.findall(r'value="https://office\.tarn-alder\.example(/s/[\w-]+)"', made.text))
        seen, told = words_of(nobody.get(address)), words_of(preview)
        papers = set(re.findall(r"(?:Certificate|Invoice) [A-Z]+-\d+", seen))
        assert papers and papers == set(re.findall(r"(?:Certificate|Invoice) [A-Z]+-\d+", told))
    with desk.reading_only() as session:
        assert sum(row.openings for row in list_share_links(session)) == 4
    assert office.get("/share-links/new?opens=certificate&id=99").status_code == 404
    assert office.get("/share-links/new?opens=nothing&id=1").status_code == 404
