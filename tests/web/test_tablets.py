"""The page of tablets and the page on trusting, with and without the local network."""

from collections.abc import Iterator

import pytest

from app.rules.tablets import TRUST_STEPS, suggest_trust_steps
from tests.web.firm_at_work import FirmAtWork
from tests.web.page_text import words_of


@pytest.fixture
def off_the_network(firm_at_work: FirmAtWork) -> Iterator[FirmAtWork]:
    network = firm_at_work.app.state.local_network
    firm_at_work.app.state.local_network = None
    yield firm_at_work
    firm_at_work.app.state.local_network = network


def test_the_page_says_where_and_how(firm_at_work: FirmAtWork) -> None:
    words = words_of(firm_at_work.browse("office").get("/tablets"))
    for told in (
        "https://office-pc.local:8765",
        "https://192.168.1.20:8765",
        "http://192.168.1.20:8766/trust",
        "AB CD",
    ):
        assert told in words
    assert "in no backup" in words


def test_off_the_network_the_page_says_how_to_get_there(off_the_network: FirmAtWork) -> None:
    page = off_the_network.browse("owner").get("/tablets")
    assert page.status_code == 200 and "./run serve --lan" in page.text
    stranger = off_the_network.browse("nobody")
    assert "nothing to trust" in words_of(stranger.get("/trust"))
    assert stranger.get("/trust/ohmstead-authority.crt").status_code == 404


@pytest.mark.parametrize(
    ("browser", "device"),
    [
        ("Mozilla/5.0 (iPad; CPU OS 18_0 like Mac OS X) AppleWebKit/605.1.15", "iPad or iPhone"),
        ("Mozilla/5.0 (Linux; Android 15; Tab) AppleWebKit/537.36 Chrome/140", "Android"),
        ("Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36", "Windows"),
        ("Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15", "Mac"),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0", "Firefox, on any computer"),
        ("curl/8", ""),
    ],
)
def test_the_steps_of_the_device_at_hand_are_open(firm_at_work: FirmAtWork, browser: str, device: str) -> None:
    assert suggest_trust_steps(browser) == device
    page = firm_at_work.browse("nobody").get("/trust", headers={"User-Agent": browser}).text
    assert page.count("<details open>") == (1 if device else 0)
    assert all(each.device in page for each in TRUST_STEPS)


@pytest.mark.parametrize("host", ["evil.example", "office-pc.local.evil.example"])
def test_another_name_is_not_answered(firm_at_work: FirmAtWork, host: str) -> None:
    assert firm_at_work.browse("owner").get("/", headers={"Host": host}).status_code == 403
    assert firm_at_work.browse("owner").get("/", headers={"Host": "office-pc.local:8765"}).status_code == 200
