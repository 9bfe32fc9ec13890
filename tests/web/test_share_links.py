"""Making a share link: its address is shown once, beside what it allows; the list shows where each link stands."""

import re
from base64 import b64decode
from datetime import timedelta
from html import unescape
from io import BytesIO

import pytest
import zxingcpp
from PIL import Image

from app.actions import certificates
from app.actions.deeds import Desk
from app.store.share_links import get_share_link, list_share_links
from tests.cast import Browse, BrowseAs, World
from tests.finished_visits import begin_worked_through

PUBLIC = "https://office.tarn-alder.example"


@pytest.fixture
def certified(desk: Desk, world: World) -> World:
    begin_worked_through(desk, world.technician, world.visit_id)
    certificates.issue_certificate(desk, world.office, world.visit_id)
    return world


@pytest.fixture
def office(browse_as: BrowseAs, certified: World) -> Browse:
    return browse_as(certified.office)


def make(office: Browse, world: World, **fields: str) -> str:
    answer = office.post(f"/visits/{world.visit_id}/share-links", {"days": "90", "note": "Ada"} | fields)
    assert answer.status_code == 200
    return answer.text


def test_the_address_is_shown_once_and_opens(office: Browse, certified: World, browse_as: BrowseAs) -> None:
    page = make(office, certified)
    [address] = set(re.findall(rf"{PUBLIC}/s/[\w-]+", page))
    assert browse_as(None).get(address.removeprefix(PUBLIC)).status_code == 200
    token = address.rsplit("/", 1)[1]
    for path in ("/share-links", f"/visits/{certified.visit_id}", "/certificates/1", "/"):
        again = office.get(path)
        assert again.status_code == 200
        assert token not in again.text


def test_the_page_says_what_the_link_allows(office: Browse, certified: World) -> None:
    for page in (office.get(f"/visits/{certified.visit_id}/share-links/new").text, make(office, certified)):
        said = " ".join(unescape(page).split())
        assert "without signing in" in said
        assert "It opens nothing else and changes nothing" in said
        assert "You can withdraw it at any time" in said


def test_the_code_on_the_page_is_the_address(office: Browse, certified: World) -> None:
    page = make(office, certified)
    [address] = set(re.findall(rf'value="({PUBLIC}/s/[\w-]+)"', page))
    [drawing] = re.findall(r'src="data:image/png;base64,([^"]+)"', page)
    [found] = zxingcpp.read_barcodes(Image.open(BytesIO(b64decode(unescape(drawing)))).convert("L"))
    assert found.text == address


def test_the_days_are_kept_and_bad_ones_named(office: Browse, certified: World, desk: Desk) -> None:
    make(office, certified, days="7")
    with desk.reading_only() as session:
        assert get_share_link(session, 1).expires_on == desk.today + timedelta(days=7)
    for days in ("0", "366", "-3", "1.5", "soon"):
        answer = office.post(f"/visits/{certified.visit_id}/share-links", {"days": days, "note": "kept text"})
        assert answer.status_code == 422
        assert "whole number from 1 to 365" in answer.text
        assert "kept text" in answer.text
    with desk.reading_only() as session:
        assert len(list_share_links(session)) == 1


def test_there_is_nothing_to_share_before_the_certificate(browse_as: BrowseAs, world: World) -> None:
    office = browse_as(world.office)
    for answer in (
        office.get(f"/visits/{world.visit_id}/share-links/new"),
        office.post(f"/visits/{world.visit_id}/share-links", {"days": "90"}),
    ):
        assert answer.status_code == 409
        assert "Issue the certificate first" in answer.text


def test_the_list_shows_where_each_link_stands(office: Browse, certified: World) -> None:
    assert "No share links yet" in office.get("/share-links").text
    make(office, certified, note="Ada Lomas")
    make(office, certified, note="Sent to the wrong one")
    assert office.post("/share-links/2/withdraw", {"back": "visit"}).headers["location"] == "/visits/1#papers"
    page = office.get("/share-links").text
    assert page.count("/withdraw") == 1
    assert "Ada Lomas" in office.get("/share-links?state=open").text
    assert "Sent to the wrong one" not in office.get("/share-links?state=open").text
    assert "Sent to the wrong one" in office.get("/share-links?state=withdrawn&q=wrong").text
    assert "No such link" in office.get("/share-links?state=expired").text
