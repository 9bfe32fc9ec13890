"""No write is done that does not come from a page of our own (OWASP ASVS 5.0, 3.5.1), and no GET writes."""

from typing import Any

import pytest

from app.web.access import ACCESS, EVERYBODY, STATELESS
from tests.cast import Browse
from tests.web.firm_at_work import STRANGERS, FirmAtWork

WRITES = sorted(path for method, path in ACCESS if method == "POST" and path not in STATELESS)
#: Openings of a share link are counted: the customer's reading it is what the office wants to see. When a calendar was
#: read is kept, so that one that nobody reads is withdrawn.
COUNTED = {"/s/{token}", "/calendar/{token}.ics"}


def forgeries(token: str, foreign: str) -> dict[str, dict[str, Any]]:
    """Ways to send a form that is not ours, by name. token is the one that would be right."""
    right = {"data": {"csrf": token}}
    return {
        "without the token": {"data": {"name": "x"}},
        "with an empty token": {"data": {"csrf": ""}},
        "with a wrong token": {"data": {"csrf": "x" * len(token)}},
        "with somebody else's token": {"data": {"csrf": foreign}},
        "with the token in the address": {"params": {"csrf": token}, "data": {"name": "x"}},
        "with the token in a body that is no form": {
            "content": f"csrf={token}",
            "headers": {"Content-Type": "text/plain"},
        },
        "with the token in JSON": {"json": {"csrf": token}},
        "from another origin": right | {"headers": {"Origin": "https://elsewhere.example"}},
        "from an origin that begins like ours": right | {"headers": {"Origin": "http://testserver.elsewhere.example"}},
        "from another port": right | {"headers": {"Origin": "http://testserver:8080"}},
        "from no origin": right | {"headers": {"Origin": "null"}},
        "from another site": right | {"headers": {"Sec-Fetch-Site": "cross-site"}},
        "from a sister site": right | {"headers": {"Sec-Fetch-Site": "same-site"}},
        "with a wrong token in the header": right | {"headers": {"X-CSRF": "wrong"}},
    }


def somebody_who_may(firm: FirmAtWork, path: str) -> tuple[str, Browse]:
    allowed = ACCESS["POST", path]
    who = "nobody" if allowed == EVERYBODY else "owner"
    return who, firm.browse(who)


@pytest.mark.parametrize("path", WRITES)
def test_a_forged_write_is_refused_and_changes_nothing(firm_at_work: FirmAtWork, path: str) -> None:
    firm_at_work.put_back()
    who, browse = somebody_who_may(firm_at_work, path)
    address, before = firm_at_work.address("POST", path), firm_at_work.contents()
    for way, sent in forgeries(browse.csrf, firm_at_work.browse("office").csrf).items():
        answer = firm_at_work.browse(who).send("POST", address, **sent)
        assert answer.status_code == 403, f"{way}: {answer.status_code}"
    assert firm_at_work.contents() == before


@pytest.mark.parametrize("path", sorted(path for path in WRITES if ACCESS["POST", path] != EVERYBODY))
def test_a_stranger_with_a_form_token_writes_nothing(firm_at_work: FirmAtWork, path: str) -> None:
    firm_at_work.put_back()
    before = firm_at_work.contents()
    for who in STRANGERS:
        answer = firm_at_work.browse(who).post(firm_at_work.address("POST", path), {"name": "x"})
        assert answer.status_code == 403
    assert firm_at_work.contents() == before


@pytest.mark.parametrize(
    "headers", [{}, {"Origin": "http://testserver"}, {"Origin": "http://testserver", "Sec-Fetch-Site": "same-origin"}]
)
def test_a_write_from_our_own_page_is_done(firm_at_work: FirmAtWork, headers: dict[str, str]) -> None:
    """What the forgeries lack is all that is missing: with it the same write goes through."""
    firm_at_work.put_back()
    browse, before = firm_at_work.browse("owner"), firm_at_work.contents()
    address = firm_at_work.address("POST", "/premises/{premises_id}/locations")
    assert browse.post(address, {"name": "Boiler room"}, headers=headers).status_code == 303
    assert firm_at_work.contents() != before


def test_a_token_in_the_header_does_as_well(firm_at_work: FirmAtWork) -> None:
    """htmx sends it so."""
    firm_at_work.put_back()
    browse = firm_at_work.browse("owner")
    address = firm_at_work.address("POST", "/premises/{premises_id}/locations")
    sent = {"data": {"name": "Boiler room"}, "headers": {"X-CSRF": browse.csrf}}
    assert browse.send("POST", address, **sent).status_code == 303


@pytest.mark.parametrize("path", sorted(path for method, path in ACCESS if method == "GET" and path not in COUNTED))
def test_a_get_changes_nothing(firm_at_work: FirmAtWork, path: str) -> None:
    """A GET comes along with the cookie from anywhere, so it may do nothing."""
    firm_at_work.put_back()
    before = firm_at_work.contents()
    firm_at_work.browse("owner").get(firm_at_work.address("GET", path))
    assert firm_at_work.contents() == before


def test_the_digest_sees_a_change_in_any_table(firm_at_work: FirmAtWork) -> None:
    firm_at_work.put_back()
    before = firm_at_work.contents()
    firm_at_work.browse("owner").post("/sign-out")
    after = firm_at_work.contents()
    assert after != before
    firm_at_work.put_back()
    assert firm_at_work.contents() == before


@pytest.mark.parametrize("path", sorted(path for path in STATELESS if ("POST", path) in ACCESS))
def test_an_address_without_a_token_changes_nothing(firm_at_work: FirmAtWork, path: str) -> None:
    before = firm_at_work.contents()
    assert firm_at_work.browse("nobody").send("POST", path, json=[]).status_code == 200
    assert firm_at_work.contents() == before
