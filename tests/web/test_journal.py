"""The journal as the owner reads it."""

import re
from urllib.parse import urlsplit

import pytest

from app.actions.deeds import Desk
from app.store.journal import count_journal
from app.web.journal import LINES, PLACES
from tests.cast import Browse, BrowseAs, World
from tests.web.firm_at_work import FirmAtWork


@pytest.fixture
def owner(browse_as: BrowseAs, world: World) -> Browse:
    return browse_as(world.owner)


def write(desk: Desk, world: World, number: int) -> None:
    with desk.doing(world.office) as deed:
        for each in range(number):
            deed.note("visit", world.visit_id, f"Wrote line {each:03d}.")


def lines_on(page: str) -> list[str]:
    return re.findall(r'<th scope="row">(.*?)</th>', page)


def test_the_newest_line_comes_first_with_who_and_when(owner: Browse, desk: Desk, world: World) -> None:
    write(desk, world, 1)
    page = owner.get("/journal").text
    assert lines_on(page)[0] == "Wrote line 000."
    assert "Bea Holm" in page and "4\xa0Mar\xa02026, 10:00" in page
    assert f'href="/visits/{world.visit_id}"' in page


def test_every_line_is_on_one_page_and_once(owner: Browse, desk: Desk, world: World) -> None:
    write(desk, world, 2 * LINES + 7)
    path, seen = "/journal", []
    for _ in range(10):
        page = owner.get(path).text
        seen += lines_on(page)
        onward = re.search(r'rel="next" href="([^"]+)"', page)
        if onward is None:
            break
        path = onward[1].replace("&amp;", "&")
    with desk.database.reading() as session:
        assert len(seen) == count_journal(session)
    assert [line for line in seen if line.startswith("Wrote")] == [
        f"Wrote line {each:03d}." for each in reversed(range(2 * LINES + 7))
    ]
    back = re.search(r'rel="prev" href="([^"]+)"', owner.get(path).text)
    assert back is not None and urlsplit(back[1]).path == "/journal"


def test_it_is_narrowed_by_subject_and_word_and_stays_so_on_the_next_page(
    owner: Browse, desk: Desk, world: World
) -> None:
    write(desk, world, LINES + 20)
    page = owner.get("/journal?subject=visit&q=wrote+line").text
    assert all(line.startswith("Wrote") for line in lines_on(page))
    assert f"1–{LINES} of {LINES + 20}" in page
    onward = re.search(r'rel="next" href="([^"]+)"', page)
    assert onward is not None
    assert len(lines_on(owner.get(onward[1].replace("&amp;", "&")).text)) == 20
    assert owner.get(f"/journal?subject=visit&id={world.other_visit_id}").text.count("Wrote") == 0
    assert "No line matches" in owner.get("/journal?q=nothing+like+it").text


PAGES = ["page=-1", "page=x", "page=999999", "page=99999999999"]
SUBJECTS = ["subject=%00", "id=x", "subject=visit&id=99999999999", "q=%25", "q=%27"]


@pytest.mark.parametrize("query", PAGES + SUBJECTS)
def test_an_odd_question_gets_a_page(owner: Browse, query: str) -> None:
    assert owner.get(f"/journal?{query}").status_code == 200


def test_every_subject_leads_to_where_it_can_be_seen(firm_at_work: FirmAtWork) -> None:
    firm_at_work.put_back()
    browse = firm_at_work.browse("owner")
    path, links = "/journal", set()
    while True:
        page = browse.get(path).text
        links |= {(href, word) for href, word in re.findall(r'class="whole" href="([^"]+)">([^<]+)<', page)}
        assert 'data-label="About">' not in page.replace('data-label="About"><a', ""), "a subject without a place"
        onward = re.search(r'rel="next" href="([^"]+)"', page)
        if onward is None:
            break
        path = onward[1].replace("&amp;", "&")
    # This firm has a bank statement, and none of its lines booked yet.
    assert {word for _, word in links} == set(PLACES) - {"bank line"}
    for href, word in sorted(links):
        assert browse.get(href).status_code == 200, (word, href)
