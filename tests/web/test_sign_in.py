"""Signing in and out: sessions, guesses, and where one is sent (OWASP ASVS 5.0, chapters 6 and 7)."""

import re
import sqlite3
from datetime import timedelta
from http.cookies import SimpleCookie
from pathlib import Path

import httpx
import pytest

from app.actions import people
from app.actions.deeds import Desk
from app.rules.people import GUESSES_MOST, PersonDetails, Role
from app.web.kit import SESSION
from tests.cast import PASSWORD, Browse, BrowseAs, Clock, World

EMAIL = "joss@tarn-alder.example"


def at_sign_in(browse: Browse, query: str = "") -> Browse:
    """The sign-in page opened, so that its form can be sent."""
    found = re.search(r'name="csrf" value="([^"]+)"', browse.get(f"/sign-in{query}").text)
    assert found is not None
    browse.csrf = found[1]
    return browse


def sign_in(browse: Browse, email: str = EMAIL, password: str = PASSWORD, next: str = "") -> httpx.Response:
    return at_sign_in(browse).post("/sign-in", {"email": email, "password": password, "next": next})


def cookie_of(answer: httpx.Response) -> "SimpleCookie":
    cookie = SimpleCookie()
    for header in answer.headers.get_list("set-cookie"):
        cookie.load(header)
    return cookie


def test_the_right_password_opens_the_page_that_was_asked_for(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(None)
    asked = browse.get("/customers?q=mill&page=2")
    assert asked.headers["location"] == "/sign-in?next=/customers%3Fq%3Dmill%26page%3D2"
    at_sign_in(browse, asked.headers["location"].removeprefix("/sign-in"))
    form = browse.get(asked.headers["location"]).text
    found = re.search(r'name="next" value="([^"]*)"', form)
    assert found is not None
    next_path = found[1].replace("&amp;", "&")
    answer = browse.post("/sign-in", {"email": f"  {EMAIL.upper()} ", "password": PASSWORD, "next": next_path})
    assert (answer.status_code, answer.headers["location"]) == (303, "/customers?q=mill&page=2")
    assert browse.get("/").status_code == 200


@pytest.mark.parametrize("scheme", ["http", "https"])
def test_the_cookie_is_for_this_server_only(browse_as: BrowseAs, world: World, scheme: str) -> None:
    browse = browse_as(None)
    page = browse.get(f"{scheme}://testserver/sign-in")
    found = re.search(r'name="csrf" value="([^"]+)"', page.text)
    assert found is not None
    fields = {"csrf": found[1], "email": EMAIL, "password": PASSWORD}
    answer = browse.send("POST", f"{scheme}://testserver/sign-in", data=fields)
    for cookie in [*cookie_of(page).values(), *cookie_of(answer).values()]:
        assert cookie["httponly"] and cookie["path"] == "/" and not cookie["domain"]
        assert cookie["samesite"].lower() in ("lax", "strict")
        assert bool(cookie["secure"]) == (scheme == "https")
    assert len(cookie_of(answer)[SESSION].value) >= 43, "256 bits in base64 have 43 letters"


def test_the_token_is_not_in_the_database(browse_as: BrowseAs, world: World, tmp_path: Path) -> None:
    token = cookie_of(sign_in(browse_as(None)))[SESSION].value
    with sqlite3.connect(tmp_path / "ohmstead.db") as connection:
        everything = "\n".join(connection.iterdump())
    assert people.hash_of(token) in everything
    assert token not in everything
    assert PASSWORD not in everything


def test_each_sign_in_has_a_token_of_its_own_whatever_the_browser_brings(browse_as: BrowseAs, world: World) -> None:
    """OWASP ASVS 5.0, 7.2.4: no session that somebody planted before is taken over."""
    browse = browse_as(None)
    browse.cookies.set(SESSION, "planted")
    first = cookie_of(sign_in(browse))[SESSION].value
    second = cookie_of(sign_in(browse_as(None)))[SESSION].value
    assert len({"planted", first, second}) == 3


@pytest.mark.parametrize(
    ("email", "password"),
    [
        (EMAIL, "not the password"),
        ("nobody@tarn-alder.example", PASSWORD),
        (EMAIL, PASSWORD.upper()),
        (EMAIL, f"{PASSWORD} "),
    ],
)
def test_what_does_not_belong_together_gets_one_and_the_same_answer(
    browse_as: BrowseAs, world: World, email: str, password: str
) -> None:
    browse = browse_as(None)
    answer = sign_in(browse, email, password)
    assert answer.status_code == 422
    assert "do not belong together" in answer.text
    assert SESSION not in cookie_of(answer)
    assert f'value="{email}"' in answer.text, "what was typed stays"
    assert password not in answer.text, "but never the password"
    assert browse.get("/").headers["location"] == "/sign-in"


@pytest.mark.parametrize(
    "fields", [{}, {"email": EMAIL}, {"password": PASSWORD}, {"email": "x" * 5000, "password": "y" * 5000}]
)
def test_half_a_form_is_asked_for_again(browse_as: BrowseAs, world: World, fields: dict[str, str]) -> None:
    assert at_sign_in(browse_as(None)).post("/sign-in", fields).status_code == 422


def test_after_ten_wrong_guesses_even_the_right_one_waits_a_quarter_of_an_hour(
    browse_as: BrowseAs, world: World, clock: Clock
) -> None:
    browse = browse_as(None)
    for _ in range(GUESSES_MOST):
        assert sign_in(browse, password="wrong every time").status_code == 422
    refused = sign_in(browse)
    assert refused.status_code == 409 and "quarter of an hour" in refused.text
    assert sign_in(browse_as(None), "bea@tarn-alder.example").status_code == 303, "others sign in as ever"
    clock.pass_time(minutes=14, seconds=59)
    assert sign_in(browse).status_code == 409
    clock.pass_time(seconds=1)
    assert sign_in(browse).status_code == 303


def test_whoever_is_signed_in_stays_so_while_somebody_guesses(browse_as: BrowseAs, world: World) -> None:
    """OWASP ASVS 5.0, 6.3.1: guessing at somebody's password locks nobody out who is in."""
    inside, guesser = browse_as(world.technician), browse_as(None)
    for _ in range(GUESSES_MOST + 1):
        sign_in(guesser, password="wrong every time")
    assert inside.get("/").status_code == 200


def test_signing_out_ends_it_on_the_server(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.technician)
    token = browse.cookies.get(SESSION)
    answer = browse.post("/sign-out")
    assert answer.headers["location"] == "/sign-in"
    thief = browse_as(None)
    thief.cookies.set(SESSION, token or "")
    assert thief.get("/").headers["location"] == "/sign-in"


def test_the_page_is_not_for_whoever_is_in(browse_as: BrowseAs, world: World) -> None:
    assert browse_as(world.owner).get("/sign-in").headers["location"] == "/"


def test_who_has_left_cannot_sign_in(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    gone = PersonDetails("Joss Alder", EMAIL, Role.TECHNICIAN, "JA", active=False)
    inside = browse_as(world.technician)
    with desk.doing(world.owner) as deed:
        people.change_person(deed, world.technician.id, gone)
    assert inside.get("/").headers["location"] == "/sign-in"
    assert sign_in(browse_as(None)).status_code == 422


@pytest.mark.parametrize(
    ("role", "lasts"),
    [("owner", timedelta(hours=14)), ("office", timedelta(hours=14)), ("technician", timedelta(days=14))],
)
def test_a_sign_in_ends_by_itself(browse_as: BrowseAs, world: World, clock: Clock, role: str, lasts: timedelta) -> None:
    """The figures are ours: a working day in the office, two weeks on a technician's tablet."""
    browse = browse_as(getattr(world, role))
    clock.pass_time(seconds=lasts.total_seconds() - 1)
    assert browse.get("/").status_code == 200
    clock.pass_time(seconds=1)
    assert browse.get("/").headers["location"] == "/sign-in"


STARTS = [
    *("https://", "http://", "//", "///", "////", "/\\", "\\\\", "\\/", "/\\/", "https:", "https:/", "ftp://", " //"),
    *("\t//", "/\t/", "/\n/", "\x00//", "/ /", "//user@", "http:\\\\", "", "@", ".", "%2f%2f", "/%5c", "///%09/"),
]
ODD = ["javascript:alert(1)", "data:text/html,x", "/\r\nSet-Cookie: a=b", "/x\\y", "customers", "", "?q", "#top"]
ELSEWHERE = ODD + [f"{start}elsewhere.example{end}" for start in STARTS for end in ("", "/customers")]


@pytest.mark.parametrize("next_path", ELSEWHERE, ids=repr)
def test_nobody_is_sent_to_another_site(browse_as: BrowseAs, world: World, next_path: str) -> None:
    """OWASP ASVS 5.0, 3.7.2. What a browser makes of the answer is worked out as it would: against our address."""
    answer = sign_in(browse_as(None), next=next_path)
    assert answer.status_code == 303
    location = answer.headers["location"]
    assert httpx.URL("http://testserver/sign-in").join(location).host == "testserver"
    assert location.startswith("/") and not re.match(r"/[/\\\s]", location)
    assert SESSION in cookie_of(answer) and "a" not in cookie_of(answer)


def test_a_hostile_next_is_only_text_in_the_form(browse_as: BrowseAs, world: World) -> None:
    page = browse_as(None).get("/sign-in", params={"next": '"><script>alert(1)</script>'}).text
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page
