"""The firm's settings: details, rulebook, logo."""

import io
import re

import pytest
from PIL import Image

from app.actions.deeds import Desk
from app.rules.rulebooks import RULEBOOKS
from app.store.firms import get_firm
from tests.cast import Browse, BrowseAs, World
from tests.web.page_text import fields_of, words_of
from tests.web.test_set_up import COMPANY, mistakes_in, picture
from tests.web.test_set_up import FIELDS as SET_UP

FIELDS = {name: value for name, value in (SET_UP | COMPANY).items() if not name.startswith(("owner_", "code"))}


@pytest.fixture
def owner(browse_as: BrowseAs, world: World) -> Browse:
    return browse_as(world.owner)


def version_of(browse: Browse) -> str:
    found = re.search(r'name="version" value="(\d+)"', browse.get("/settings").text)
    assert found is not None
    return found[1]


def test_what_is_kept_is_shown(owner: Browse) -> None:
    page = owner.get("/settings").text
    for value in ("Tarn &amp; Alder Electrical Testing", "999 9999 73", "2 Mill Lane\nMillbeck", "ZZ1 2AB", "00-00-00"):
        assert value in page
    assert '<option value="limited-company" selected>' in page
    assert re.search(r'name="vat_registered"[^>]* checked', page)
    for path in ("/prices", "/journal", "/share-links"):
        assert f'href="{path}"' in page


def test_details_are_changed(owner: Browse, desk: Desk) -> None:
    changes = {"version": version_of(owner), "name": "Tarn Testing", "payment_days": "7", "rulebook_id": "uk-2020"}
    answer = owner.post("/settings", FIELDS | changes)
    assert answer.status_code == 303
    page = owner.get(answer.headers["location"]).text
    assert "details are saved" in page and "Tarn Testing" in page
    with desk.database.reading() as session:
        firm = get_firm(session)
        assert (firm.name, firm.payment_days, firm.rulebook_id) == ("Tarn Testing", 7, "uk-2012"), (
            "limits have their own form"
        )
        assert (firm.vat_registered, firm.vat_number) == (False, ""), "the tick was taken out"


def test_what_visits_are_judged_by_has_its_own_form(owner: Browse, desk: Desk) -> None:
    """The words of the decision rules: ILAC-G8:09/2019, 4.2 (risk of a false pass below 2.5 % with a guard band)."""
    page = owner.get("/settings/judging")
    assert re.findall(r'type="radio" name="rulebook_id" value="([^"]+)"', page.text) == list(RULEBOOKS)
    assert "keeps one expanded uncertainty" in words_of(page) and "below 2.5 %" in words_of(page)
    form = fields_of(page)
    for wrong in ({"rulebook_id": "uk-1812"}, {"decision_rule": "by eye"}):
        answer = owner.post("/settings/judging", form | wrong)
        assert answer.status_code == 422 and mistakes_in(answer.text) == set(wrong)
    sent = form | {"rulebook_id": "en-50699", "decision_rule": "four-way"}
    assert owner.post("/settings/judging", sent).status_code == 303
    assert owner.post("/settings/judging", sent).status_code == 409, "opened before it was changed"
    with desk.database.reading() as session:
        firm = get_firm(session)
        assert (firm.rulebook_id, firm.decision_rule, firm.dielectric_by_id) == ("en-50699", "four-way", None)
    assert "EN 50699, limits of 2020 ; four-way" in words_of(owner.get("/settings"))


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"name": ""}, {"name"}),
        ({"vat_registered": "yes", "vat_number": "GB 12"}, {"vat_number"}),
        ({"payment_days": "a month", "company_number": ""}, {"payment_days", "company_number"}),
        ({"email": "x@"}, {"email"}),
        ({"certificate_prefix": "TOO-LONG-A-PREFIX"}, {"certificate_prefix"}),
        ({"certificate_prefix": "REG"}, {"certificate_prefix"}),  # the registers have it
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_nothing_is_changed(
    owner: Browse, desk: Desk, changes: dict[str, str], wrong: set[str]
) -> None:
    before = version_of(owner)
    answer = owner.post("/settings", FIELDS | {"bank_name": "Another Bank", "version": before} | changes)
    assert answer.status_code == 422 and mistakes_in(answer.text) == wrong
    assert 'value="Another Bank"' in answer.text, "what was typed stays"
    assert version_of(owner) == before
    assert "Another Bank" not in owner.get("/settings").text


def test_nobody_overwrites_what_somebody_else_saved_meanwhile(owner: Browse) -> None:
    opened = version_of(owner)
    assert owner.post("/settings", FIELDS | {"version": opened}).status_code == 303
    second = owner.post("/settings", FIELDS | {"version": opened, "name": "Too Late"})
    assert second.status_code == 409 and "Too Late" not in owner.get("/settings").text


def send_logo(browse: Browse, content: bytes) -> int:
    files = {"logo": ("logo.png", content, "image/png")}
    return browse.send("POST", "/settings/logo", data={"csrf": browse.csrf}, files=files).status_code


def test_a_logo_is_set_shown_and_removed(owner: Browse, desk: Desk) -> None:
    assert "data:image/png" not in owner.get("/settings").text
    assert send_logo(owner, picture()) == 303
    assert 'src="data:image/png;base64,' in owner.get("/settings").text
    with desk.database.reading() as session:
        kept = get_firm(session).logo_png
    assert kept is not None and Image.open(io.BytesIO(kept)).size == (300, 90)
    assert owner.post("/settings/logo", {"remove": "yes"}).status_code == 303
    with desk.database.reading() as session:
        assert get_firm(session).logo_png is None


@pytest.mark.parametrize("content", [b"", b"<svg/>", b"\x89PNG\r\n\x1a\n" + bytes(100)])
def test_what_is_no_picture_leaves_the_logo_as_it_is(owner: Browse, content: bytes) -> None:
    send_logo(owner, picture())
    before = owner.get("/settings").text
    assert send_logo(owner, content) == 422
    assert owner.get("/settings").text == before


def test_a_picture_brings_nothing_along(owner: Browse, desk: Desk) -> None:
    """OWASP ASVS 5.0, 14.2.8: what a camera wrote beside the picture is left out."""
    out, marked = io.BytesIO(), Image.new("RGB", (60, 20))
    exif = marked.getexif()
    exif[0x010E] = "where it was taken"
    marked.save(out, "JPEG", exif=exif)
    assert b"where it was taken" in out.getvalue()
    assert send_logo(owner, out.getvalue()) == 303
    with desk.database.reading() as session:
        assert b"where it was taken" not in (get_firm(session).logo_png or b"")
