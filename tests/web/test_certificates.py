"""Issuing a certificate from the visit, its page, its PDF, and the list."""

import pytest

from app.actions import visits
from app.actions.deeds import Desk
from tests.cast import Browse, BrowseAs, World
from tests.documents.reading_back import text_of
from tests.finished_visits import GOOD, earth, work_through

BAD_KETTLE = ([GOOD[0][0], earth("0.42")], *GOOD[1:])


@pytest.fixture
def office(browse_as: BrowseAs, world: World) -> Browse:
    return browse_as(world.office)


def test_issuing_leads_to_the_certificate(desk: Desk, world: World, office: Browse) -> None:
    work_through(desk, world.technician, world.visit_id, BAD_KETTLE)
    answer = office.post(f"/visits/{world.visit_id}/certificate")
    assert (answer.status_code, answer.headers["location"]) == (303, "/certificates/1")
    page = office.get("/certificates/1").text
    for words in ("C-000001", "2 of 3 items passed", "0.42 Ω", f"/visits/{world.visit_id}", "No share link yet"):
        assert words in page
    paper = office.get("/certificates/1/paper.pdf")
    assert paper.headers["content-type"] == "application/pdf"
    assert 'filename="Certificate C-000001 Brackenhow Primary School main site' in paper.headers["content-disposition"]
    assert "0.42" in text_of(paper.content)


def test_issuing_twice_is_refused_with_the_number(desk: Desk, world: World, office: Browse) -> None:
    work_through(desk, world.technician, world.visit_id)
    office.post(f"/visits/{world.visit_id}/certificate")
    again = office.post(f"/visits/{world.visit_id}/certificate")
    assert again.status_code == 409
    assert "C-000001" in again.text


@pytest.mark.parametrize("paper", ["certificate", "invoice"])
def test_an_unfinished_visit_gets_no_papers(desk: Desk, world: World, office: Browse, paper: str) -> None:
    assert office.post(f"/visits/{world.visit_id}/{paper}").status_code == 409
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    answer = office.post(f"/visits/{world.visit_id}/{paper}")
    assert answer.status_code == 409
    assert "when the visit is finished; this one is under way" in answer.text
    assert office.post(f"/visits/999/{paper}").status_code == 404


def test_a_technician_neither_issues_nor_reads_papers(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    work_through(desk, world.technician, world.visit_id)
    technician = browse_as(world.technician)
    assert technician.post(f"/visits/{world.visit_id}/certificate").status_code == 403
    assert technician.get("/certificates").status_code == 403
    assert "Issue the certificate" not in technician.get(f"/visits/{world.visit_id}").text


def test_a_changed_file_is_refused_in_plain_words(desk: Desk, world: World, office: Browse) -> None:
    work_through(desk, world.technician, world.visit_id)
    office.post(f"/visits/{world.visit_id}/certificate")
    (desk.papers_folder / "C-000001.pdf").write_bytes(b"%PDF-1.7 other")
    answer = office.get("/certificates/1/paper.pdf")
    assert answer.status_code == 409
    assert "is not what was issued" in answer.text


def test_the_list_finds_and_says_what_to_do_when_empty(desk: Desk, world: World, office: Browse) -> None:
    assert "No certificates yet" in office.get("/certificates").text
    work_through(desk, world.technician, world.visit_id)
    office.post(f"/visits/{world.visit_id}/certificate")
    assert "C-000001" in office.get("/certificates?q=brackenhow").text
    assert "No certificate found" in office.get("/certificates?q=saltgate").text
    assert "No certificate found" in office.get("/certificates?q=%25%3Cb%3E").text


def test_the_visit_leads_through_its_papers_step_by_step(desk: Desk, world: World, office: Browse) -> None:
    work_through(desk, world.technician, world.visit_id)
    address = f"/visits/{world.visit_id}"
    page = office.get(address).text
    assert "Issue the certificate" in page
    assert "share-links/new" not in page
    office.post(f"{address}/certificate")
    page = office.get(address).text
    assert "/certificates/1/paper.pdf" in page
    assert "Draft the invoice" in page
    office.post(f"{address}/invoice")
    assert "/invoices/1/issue" in office.get(address).text
    office.post("/invoices/1/issue", {"version": "1"})
    page = office.get(address).text
    assert "/invoices/1/paper.pdf" in page
    assert "all done" not in page
    office.post(f"{address}/share-links", {"days": "90"})
    page = office.get(address).text
    assert "all done" in page
    assert "1\u00a0opening" not in page
    assert "0\u00a0openings so far" in page
