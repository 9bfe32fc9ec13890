"""The page of pictures, and a customer's three years: who sees what, and what stands behind each picture."""

import re

from tests.cast import BrowseAs, World
from tests.web.firm_at_work import FirmAtWork


def test_every_picture_can_be_read_without_seeing_it(firm_at_work: FirmAtWork) -> None:
    page = firm_at_work.browse("office").get("/pictures")
    assert page.status_code == 200
    drawings = re.findall(r'<svg viewBox[^>]*role="img" aria-labelledby="(\S+) (\S+)"', page.text)
    assert len(drawings) >= 8
    for title, description in drawings:
        assert re.search(rf'<title id="{title}">[^<]+</title>', page.text)
        assert re.search(rf'<desc id="{description}">[^<]+\.</desc>', page.text)
    figures = page.text.count('<figure class="picture">')
    assert page.text.count("<summary>As a table</summary>") * 2 == len(drawings) <= 2 * figures
    assert " style=" not in page.text


def test_technicians_see_no_money_in_pictures(firm_at_work: FirmAtWork) -> None:
    office, technician = (firm_at_work.browse(who).get("/pictures").text for who in ("office", "technician"))
    assert "Money by month" in office and "What is owed, by age" in office and "£" in office
    assert "Money by month" not in technician and "£" not in technician
    assert "Failures by kind of equipment" in technician


def test_a_story_on_a_page_and_as_a_paper(firm_at_work: FirmAtWork) -> None:
    here = f"/customers/{firm_at_work.world.other_customer_id}/story"
    page = firm_at_work.browse("office").get(here).text
    assert "Three years at a glance" in page and f"{here}.pdf" in page
    assert "too few to tell" in page or "one year to show" in page
    assert "£" not in page
    paper = firm_at_work.browse("office").get(f"{here}.pdf")
    assert paper.headers["content-type"] == "application/pdf" and paper.content.startswith(b"%PDF")
    assert firm_at_work.browse("technician").get(f"{here}.pdf").status_code == 403


def test_a_story_without_a_test_says_how_it_begins(browse_as: BrowseAs, world: World) -> None:
    page = browse_as(world.office).get(f"/customers/{world.customer_id}/story").text
    assert "Nothing to tell yet" in page and "story.pdf" not in page
    assert browse_as(world.office).get("/customers/999/story").status_code == 404
    empty = browse_as(world.owner).get("/pictures").text
    assert "Nothing was tested in this time." in empty and "Nothing is owed." in empty
