"""The headers on every kind of answer (values of OWASP ASVS 5.0, section 3.4, and its HTTP headers cheat sheet)."""

import httpx
import pytest

from tests.web.firm_at_work import FirmAtWork
from tests.web.page_text import words_of

#: Name of an answer: who asks, the address as a template, the status.
ANSWERS = {
    "a page": ("owner", "/customers/{customer_id}", 200),
    "the sign-in page": ("nobody", "/sign-in", 200),
    "a redirect": ("nobody", "/customers", 303),
    "forbidden": ("technician", "/people", 403),
    "missing": ("owner", "/customers/999999", 404),
    "no such address": ("nobody", "/nowhere", 404),
    "refused": ("owner", "/visits/{visit_id}/share-links/new", 409),
    "a certificate": ("office", "/certificates/{certificate_id}/paper.pdf", 200),
    "an invoice": ("office", "/invoices/{invoice_id}/paper.pdf", 200),
    "a shared page": ("nobody", "/s/{token}", 200),
    "a shared certificate": ("nobody", "/s/{token}/certificate.pdf", 200),
    "a dead link": ("nobody", "/s/{code}", 404),
    "health": ("nobody", "/health", 200),
    "the JSON side": ("nobody", "/api/description.json", 200),
    "a style sheet": ("nobody", "/static/css/base.css", 200),
    "a missing file": ("nobody", "/static/css/nowhere.css", 404),
}


def ask(firm: FirmAtWork, name: str, host: str = "http://testserver") -> httpx.Response:
    who, path, status = ANSWERS[name]
    answer = firm.browse(who).get(host + path.format(**firm.ids))
    assert answer.status_code == status
    return answer


def directives(answer: httpx.Response) -> dict[str, list[str]]:
    """The content security policy, by directive."""
    parts = [part.split() for part in answer.headers["content-security-policy"].split(";")]
    return {part[0]: part[1:] for part in parts if part}


def check_everywhere(answer: httpx.Response) -> None:
    policy = directives(answer)
    assert policy["default-src"] == ["'self'"]
    assert policy["object-src"] == policy["base-uri"] == policy["frame-ancestors"] == ["'none'"]
    assert policy["form-action"] == ["'self'"]
    for name, sources in policy.items():
        assert not {"*", "'unsafe-inline'", "'unsafe-eval'", "http:", "https:"} & set(sources), name
        assert "data:" not in sources or name == "img-src"
    headers = answer.headers
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cross-origin-opener-policy"] == headers["cross-origin-resource-policy"] == "same-origin"
    assert {"microphone=()", "geolocation=()"} <= set(headers["permissions-policy"].split(", "))
    assert headers["referrer-policy"] in ("same-origin", "no-referrer")
    assert "server" not in headers and "x-powered-by" not in headers
    assert "access-control-allow-origin" not in headers
    if answer.content:
        kind = headers["content-type"]
        assert not kind.startswith("text/") or "charset=utf-8" in kind


@pytest.mark.parametrize("name", ANSWERS)
def test_every_answer_has_the_headers(firm_at_work: FirmAtWork, name: str) -> None:
    check_everywhere(ask(firm_at_work, name))


@pytest.mark.parametrize("name", [name for name, (_, path, _) in ANSWERS.items() if not path.startswith("/static/")])
def test_nobody_keeps_what_is_personal(firm_at_work: FirmAtWork, name: str) -> None:
    kept = ask(firm_at_work, name).headers["cache-control"]
    assert "no-store" in kept


def test_a_file_with_its_mark_is_kept_and_one_without_is_asked_for_again(firm_at_work: FirmAtWork) -> None:
    browse = firm_at_work.browse("nobody")
    assert "immutable" in browse.get("/static/css/base.css?v=1").headers["cache-control"]
    assert browse.get("/static/css/base.css").headers["cache-control"] == "no-cache"


@pytest.mark.parametrize("name", ["a shared page", "a shared certificate", "a dead link"])
def test_a_share_link_tells_no_other_site_and_no_search_engine(firm_at_work: FirmAtWork, name: str) -> None:
    """W3C TAG, Good practices for capability URLs: the address is the secret."""
    headers = ask(firm_at_work, name).headers
    assert headers["referrer-policy"] == "no-referrer"
    assert "noindex" in headers["x-robots-tag"]


def test_with_tls_browsers_are_told_to_stay_with_it(firm_at_work: FirmAtWork) -> None:
    header = ask(firm_at_work, "a page", "https://testserver").headers["strict-transport-security"]
    age = next(part for part in header.split(";") if part.strip().startswith("max-age="))
    assert int(age.split("=")[1]) >= 365 * 86400
    assert "strict-transport-security" not in ask(firm_at_work, "a page").headers


@pytest.mark.parametrize("host", ["office-pc.local:8765", "192.168.1.20:8765", "localhost:8765"])
def test_a_name_of_the_local_network_is_not_held_to_tls(firm_at_work: FirmAtWork, host: str) -> None:
    """RFC 6797, 8.3: the promise would hold for every port of that name, and so for other, plain services there."""
    assert "strict-transport-security" not in ask(firm_at_work, "health", f"https://{host}").headers


@pytest.mark.parametrize(
    ("path", "fields", "status"),
    [("/sign-in", {"email": "x"}, 422), ("/visits/{finished_id}/finish", {}, 409), ("/sign-out", {}, 303)],
)
def test_an_answer_to_a_write_has_the_headers(
    firm_at_work: FirmAtWork, path: str, fields: dict[str, str], status: int
) -> None:
    firm_at_work.put_back()
    browse = firm_at_work.browse("owner")
    answer = browse.post(path.format(finished_id=firm_at_work.finished_id), fields)
    assert answer.status_code == status
    check_everywhere(answer)
    assert "no-store" in answer.headers["cache-control"]


def test_a_fault_of_our_own_has_the_headers_and_tells_nothing(
    firm_at_work: FirmAtWork, monkeypatch: pytest.MonkeyPatch
) -> None:
    """OWASP ASVS 5.0, 16.5.1: a general sentence, no trace, nothing of the fault itself."""

    def fall_over(*args: object, **options: object) -> None:
        raise RuntimeError("the secret reason")

    firm_at_work.put_back()
    monkeypatch.setattr("app.web.people.list_people", fall_over)
    answer = firm_at_work.browse("owner").get("/people")
    assert answer.status_code == 500
    check_everywhere(answer)
    assert "no-store" in answer.headers["cache-control"]
    for word in ("secret reason", "RuntimeError", "Traceback", "/app/", "people.py"):
        assert word not in answer.text


def test_a_body_larger_than_anything_asked_for_is_turned_away(firm_at_work: FirmAtWork) -> None:
    """It says what to do and leads back, on our own server alone; RFC 9110, 15.5.14."""
    form = {"Referer": "https://elsewhere.example/s/abc/items/7/put-right"}
    answer = firm_at_work.browse("nobody").send("POST", "/sign-in", content=b"x" * 12_000_001, headers=form)
    assert answer.status_code == 413
    check_everywhere(answer)
    assert "larger than 12 MB" in words_of(answer) and 'href="/s/abc/items/7/put-right"' in answer.text
    told = firm_at_work.browse("nobody").send(
        "POST", "/api/judge", content=b"x" * 12_000_001, headers={"Accept": "application/json"}
    )
    assert (told.status_code, told.json()) == (413, {"message": "This is larger than 12 MB."})


def test_robots_are_asked_to_stay_away(firm_at_work: FirmAtWork) -> None:
    answer = firm_at_work.browse("nobody").get("/robots.txt")
    assert answer.headers["content-type"] == "text/plain; charset=utf-8"
    assert answer.text.splitlines() == ["User-agent: *", "Disallow: /"]
