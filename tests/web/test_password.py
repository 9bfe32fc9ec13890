"""Changing one's own password."""

import pytest

from app.rules.people import GUESSES_MOST
from app.web.kit import SESSION
from tests.cast import PASSWORD, Browse, BrowseAs, World
from tests.web.test_set_up import mistakes_in
from tests.web.test_sign_in import cookie_of, sign_in

NEW = "three herons by the weir"
FIELDS = {"old_password": PASSWORD, "password": NEW, "password_again": NEW}


@pytest.mark.parametrize("role", ["owner", "office", "technician"])
def test_it_signs_out_everywhere_but_here(browse_as: BrowseAs, world: World, role: str) -> None:
    here, elsewhere = browse_as(getattr(world, role)), browse_as(getattr(world, role))
    before = here.cookies.get(SESSION)
    answer = here.post("/password", FIELDS)
    assert answer.status_code == 303
    token = cookie_of(answer)[SESSION].value
    assert token != before, "a new token (OWASP ASVS 5.0, 7.2.4)"
    still_here = Browse(here.app, {SESSION: token}, "")
    assert "Your password is changed" in still_here.get(answer.headers["location"]).text
    assert elsewhere.get("/").headers["location"] == "/sign-in"
    email = f"{getattr(world, role).name.split()[0].lower()}@tarn-alder.example"
    assert sign_in(browse_as(None), email, PASSWORD).status_code == 422
    assert sign_in(browse_as(None), email, NEW).status_code == 303


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"old_password": "not the old one"}, {"old_password"}),
        ({"old_password": ""}, {"old_password"}),
        ({"password": "short", "password_again": "short"}, {"password"}),
        ({"password_again": "three herons by the wear"}, {"password_again"}),
        ({"old_password": "", "password_again": ""}, {"old_password", "password_again"}),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_all_stays(
    browse_as: BrowseAs, world: World, changes: dict[str, str], wrong: set[str]
) -> None:
    here, elsewhere = browse_as(world.technician), browse_as(world.technician)
    answer = here.post("/password", FIELDS | changes)
    assert answer.status_code == 422 and mistakes_in(answer.text) == wrong
    assert PASSWORD not in answer.text and NEW not in answer.text
    assert here.get("/").status_code == elsewhere.get("/").status_code == 200
    assert sign_in(browse_as(None)).status_code == 303


def test_guessing_the_old_one_is_slowed(browse_as: BrowseAs, world: World) -> None:
    """Whoever finds a tablet unlocked does not find the password with it."""
    here = browse_as(world.technician)
    for _ in range(GUESSES_MOST):
        assert here.post("/password", FIELDS | {"old_password": "guess"}).status_code == 422
    assert here.post("/password", FIELDS).status_code == 409
    assert here.get("/").status_code == 200
