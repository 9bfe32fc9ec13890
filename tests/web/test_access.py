"""Who may open which address: every address of the running app, asked for by everybody there is.

The shape of the test is OWASP's authorization matrix (Authorization Testing Automation Cheat Sheet).
"""

import re

import pytest

from app.rules.people import Role
from app.web.access import ACCESS, EVERYBODY, STATELESS, find_roles
from tests.documents.reading_back import text_of
from tests.web.firm_at_work import STAFF, STRANGERS, FirmAtWork

MONEY = re.compile(
    "invoice|prices|share-link|certificate|credit|payment|refund|bank-|account|statement|ageing|claim|base-rate|reminder|vat-"
)
#: What begins the addresses that need no sign-in.
OPEN = "health robots.txt set-up sign-in s check L trust signing-certificate.pem calendar".split()
#: Pages that send a signed-in person home, and a search that leads to what it found.
LEADS_ELSEWHERE = {
    "/sign-in": "/",
    "/set-up": "/",
    "/visits/{visit_id}/find": "/visits/",
    "/L/{customer_id}/{number}": "/visits/",
}


def leads_to_sign_in(location: str) -> bool:
    return location == "/sign-in" or location.startswith("/sign-in?")


@pytest.mark.parametrize(("method", "path"), sorted(ACCESS), ids=lambda word: word)
def test_an_address_is_open_to_whom_the_list_says_and_to_nobody_else(
    firm_at_work: FirmAtWork, method: str, path: str
) -> None:
    allowed = ACCESS[method, path]
    address = firm_at_work.address(method, path)
    premises_id = firm_at_work.ids["premises_id"]
    fields = {"premises_id": premises_id, "opens": "premises", "id": premises_id}
    for who in STRANGERS + STAFF:
        if method == "POST":
            firm_at_work.put_back()
        browse = firm_at_work.browse(who)
        answer = browse.get(address) if method == "GET" else browse.post(address, fields)
        location = answer.headers.get("location", "")
        said = f"{who}: {answer.status_code} {location}"
        if allowed != EVERYBODY and who in STRANGERS and method == "GET":
            assert answer.status_code == 303 and leads_to_sign_in(location), said
        elif allowed != EVERYBODY and who not in allowed:
            assert answer.status_code == 403, said
        elif method == "GET" and path in LEADS_ELSEWHERE:
            assert answer.status_code == 200 or location.startswith(LEADS_ELSEWHERE[path]), said
        elif method == "GET":
            assert answer.status_code == 200, said
        else:
            assert answer.status_code in (200, 303, 409, 422), said
            assert path == "/sign-out" or not leads_to_sign_in(location), said


def test_the_strangers_in_the_table_hold_what_they_once_could_use(firm_at_work: FirmAtWork) -> None:
    """The table says something only if those cookies did open doors, and the staff's still do."""
    assert {firm_at_work.browse(who).get("/").status_code for who in STAFF} == {200}
    firm_at_work.clock.pass_time(days=-30)
    try:
        assert firm_at_work.browse("expired").get("/settings").status_code == 200
    finally:
        firm_at_work.clock.pass_time(days=30)


def test_an_address_without_a_line_is_open_to_nobody() -> None:
    assert find_roles("GET", "/nowhere") == frozenset()
    assert find_roles("DELETE", "/customers/{customer_id}") == frozenset()
    assert find_roles("HEAD", "/people") == ACCESS["GET", "/people"]


@pytest.mark.parametrize(
    "path", ["/docs", "/redoc", "/openapi.json", "/.git/HEAD", "/static/", "/static/../app/main.py", "/nowhere"]
)
def test_nothing_else_answers(firm_at_work: FirmAtWork, path: str) -> None:
    for who in ("nobody", "owner"):
        assert firm_at_work.browse(who).get(path).status_code == 404


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE", "TRACE", "OPTIONS"])
def test_other_methods_are_not_there(firm_at_work: FirmAtWork, method: str) -> None:
    for path in ("/", "/people", firm_at_work.address("GET", "/customers/{customer_id}")):
        assert firm_at_work.browse("owner").send(method, path).status_code == 404


@pytest.mark.parametrize(
    "path", ["/customers/999999", "/visits/999999", "/invoices/999999", "/people/999999/edit", "/items/0", "/items/x"]
)
def test_a_row_that_is_not_there_is_a_404_for_whom_the_page_is(firm_at_work: FirmAtWork, path: str) -> None:
    assert firm_at_work.browse("owner").get(path).status_code == 404
    assert firm_at_work.browse("nobody").get(path).status_code in (303, 404)


def test_a_changed_role_holds_from_the_next_request_on(firm_at_work: FirmAtWork) -> None:
    firm_at_work.put_back()
    office = firm_at_work.browse("office")
    assert office.get("/invoices").status_code == 200
    fields = {"name": "Bea Holm", "email": "bea@tarn-alder.example", "initials": "BH", "role": Role.TECHNICIAN.value}
    person_id = firm_at_work.world.office.id
    answer = firm_at_work.browse("owner").post(f"/people/{person_id}", fields | {"active": "yes"})
    assert answer.status_code == 303
    assert leads_to_sign_in(office.get("/invoices").headers["location"])


def test_the_list_itself_keeps_money_and_the_firm_where_they_belong() -> None:
    """As the project promises: a technician sees no money, and only the owner sees people, prices and settings."""
    for (_, path), allowed in ACCESS.items():
        head = path.split("/")[1]
        if head in ("people", "settings", "prices", "journal"):
            assert allowed == {Role.OWNER}, path
        elif path in STATELESS:
            assert allowed == EVERYBODY, path
        elif MONEY.search(path) and head not in ("s", "signing-certificate.pem"):
            assert allowed == {Role.OWNER, Role.OFFICE}, path
        elif allowed == EVERYBODY:
            assert head in OPEN, path


@pytest.mark.parametrize(
    "path", sorted(path for (method, path), allowed in ACCESS.items() if method == "GET" and Role.TECHNICIAN in allowed)
)
def test_no_page_of_a_technician_shows_money(firm_at_work: FirmAtWork, path: str) -> None:
    firm_at_work.put_back()
    answer = firm_at_work.browse("technician").get(firm_at_work.address("GET", path))
    # The bytes of a PDF may hold any letter by chance; the file of a calibration is the laboratory's own.
    is_ours = answer.headers.get("content-type", "").startswith("application/pdf") and not path.endswith("/file")
    said = text_of(answer.content) if is_ours else answer.text
    assert "£" not in said and "/invoices" not in said and "/prices" not in said
