"""The pages of product recalls: a list with its preview, a hit with a person's word, the letter."""

import re

import httpx
import pytest

from app.actions import items
from app.actions.deeds import Desk
from app.rules.items import ItemDetails
from app.store.recalls import list_recall_hits
from tests.cast import KETTLE, Browse, BrowseAs, World

LIST = b"Alert,Trade name,Type,Risk\nR-7,Hobbin,HK 220,<b>Fire</b>\nR-8,,,Nothing named\n"


@pytest.fixture
def owner(browse_as: BrowseAs, world: World, desk: Desk) -> Browse:
    with desk.doing(world.office) as deed:
        details = ItemDetails("", "Kettle", world.location_id, make="Hobin", model="HK220", facts=KETTLE)
        items.add_item(deed, details)
    return browse_as(world.owner)


def upload(browse: Browse, content: bytes = LIST) -> httpx.Response:
    return browse.post("/recalls/lists", {"name": "January"}, files={"file": ("list.csv", content, "text/csv")})


def hit_of(desk: Desk) -> int:
    with desk.reading_only() as session:
        return list_recall_hits(session)[0].id


def test_columns_are_looked_at_before_anything_is_taken_in(owner: Browse, desk: Desk) -> None:
    page = owner.get(upload(owner).headers["location"]).text
    # “Trade name” is no head that is known, so a person has to say it.
    assert "Say which column holds the make" in page
    refused = owner.post("/recalls/lists/1/take", {"model": "2"})
    assert refused.status_code == 422
    preview = owner.get("/recalls/lists/1?make=1&model=2&hazard=3&reference=0").text
    assert "Take in 1\u00a0notice" in preview and "&lt;b&gt;Fire" in preview and "<b>Fire" not in preview
    assert "Rows that name nothing to look for" in preview
    taken = owner.post("/recalls/lists/1/take", {"make": "1", "model": "2", "hazard": "3", "reference": "0"})
    assert taken.status_code == 303
    assert "HK 220" in owner.get("/recalls").text and "of 100" in owner.get("/recalls").text
    # The next list of the same heads is read in the same way, and brings nothing new.
    again = owner.get(upload(owner).headers["location"]).text
    assert "known already" in again and "Take in 0\u00a0notices" in again


def test_a_person_decides_and_writes_the_letter(owner: Browse, browse_as: BrowseAs, world: World, desk: Desk) -> None:
    upload(owner)
    owner.post("/recalls/lists/1/take", {"make": "1", "model": "2", "hazard": "3", "reference": "0"})
    here = f"/recalls/hits/{hit_of(desk)}"
    office = browse_as(world.office)
    page = office.get(here).text
    (item,) = set(re.findall(r'/items/(\d+)"', page))
    assert "This may be a recalled product: Hobbin HK 220" in browse_as(world.technician).get(f"/items/{item}").text
    assert "make “Hobin” is like “Hobbin”" in page and "Is this the recalled product?" in page
    empty = office.post(f"{here}/dismiss", {"reason": " "})
    assert empty.status_code == 422 and "Say how you know" in empty.text
    assert office.post(f"{here}/dismiss", {"reason": "The plate says HK 222"}).status_code == 303
    assert "The plate says HK 222" in office.get("/recalls?state=dismissed").text
    office.post(f"{here}/look-again")
    assert office.post(f"{here}/confirm", {"version": "1"}).status_code == 409  # somebody decided since
    assert office.post(f"{here}/confirm", {"note": "Seen", "out_of_use": "yes"}).status_code == 303
    assert "Recalled product (notice R-7)" in office.get("/defects").text
    letters = f"/customers/{world.customer_id}/recall-letters"
    assert letters in office.get("/recalls").text
    form = office.get(f"{letters}/new").text
    assert "We have taken it out of use." in form
    assert office.post(letters, {"subject": "", "body": "x"}).status_code == 422
    kept = office.post(letters, {"subject": "A recall", "body": "Dear Ada,\n\nplease read this."})
    shown = office.get(kept.headers["location"]).text
    assert "please read this." in shown and "There is no mail server yet" in shown
    assert "No letter to write" in office.get(f"{letters}/new").text
    assert office.post(f"{here}/settle", {"done": "Replaced"}).status_code == 303


def test_only_the_owner_brings_lists_in(browse_as: BrowseAs, world: World) -> None:
    assert upload(browse_as(world.office)).status_code == 403
    assert "Bring in a list" not in browse_as(world.office).get("/recalls").text
    assert browse_as(world.technician).get("/recalls").status_code == 403
    owner = browse_as(world.owner)
    assert owner.post("/recalls/lists", {"name": "x"}).status_code == 422
    assert upload(owner, b"\x00\x01").status_code == 422
