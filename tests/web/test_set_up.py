"""Setting up the firm: once, with the code that the terminal shows, and everything or nothing."""

import io
import re

import pytest
from PIL import Image

from app.actions.deeds import Desk
from app.rules.firms import LegalForm
from app.rules.people import GUESSES_MOST
from app.store.firms import find_firm, get_firm
from app.store.people import list_people
from app.web.kit import SESSION
from tests.cast import PASSWORD, Browse, BrowseAs, Clock, World

CODE = "set-up-code"
FIELDS = {
    "code": CODE,
    "name": "Tarn & Alder Electrical Testing",
    "legal_form": "sole-trader",
    "legal_name": "Ines Tarn",
    "address": "2 Mill Lane\r\nMillbeck",
    "postcode": "zz1 2ab",
    "phone": "01632 960101",
    "email": "office@tarn-alder.example",
    "certificate_prefix": "C",
    "invoice_prefix": "INV",
    "payment_days": "14",
    "bank_account_name": "Ines Tarn",
    "bank_sort_code": "000000",
    "bank_account_number": "0000 0000",
    "owner_name": "Ines Tarn",
    "owner_email": "ines@tarn-alder.example",
    "owner_password": PASSWORD,
    "owner_password_again": PASSWORD,
}
COMPANY = {
    "legal_form": "limited-company",
    "legal_name": "Tarn & Alder Electrical Testing Ltd",
    "company_number": "00000000",
    "registered_in": "England and Wales",
    "registered_office": "2 Mill Lane, Millbeck ZZ1 2AB",
}


def at_set_up(browse: Browse) -> Browse:
    """The set-up page opened, so that its form can be sent."""
    found = re.search(r'name="csrf" value="([^"]+)"', browse.get("/set-up").text)
    assert found is not None
    browse.csrf = found[1]
    return browse


def mistakes_in(text: str) -> set[str]:
    """The fields that are marked as wrong."""
    return set(re.findall(r'id="f-(\w+)-mistake"', text))


def nothing_is_there(desk: Desk) -> bool:
    with desk.database.reading() as session:
        return find_firm(session) is None and list_people(session) == []


def picture(kind: str = "PNG", size: tuple[int, int] = (300, 90)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "navy").save(out, kind)
    return out.getvalue()


def test_before_set_up_every_page_leads_there(browse_as: BrowseAs, desk: Desk) -> None:
    browse = browse_as(None)
    for path in ("/", "/sign-in", "/customers", "/s/abc", "/people"):
        assert browse.get(path).headers["location"] == "/set-up", path
    assert browse.get("/health").text == "ok\n"


def test_an_owner_sets_up_a_firm_and_is_in(browse_as: BrowseAs, desk: Desk) -> None:
    browse = at_set_up(browse_as(None))
    answer = browse.post("/set-up", FIELDS)
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert "Enter your prices" in browse.get("/").text
    assert browse.get("/people").status_code == 200, "an owner"
    with desk.database.reading() as session:
        firm, (owner,) = get_firm(session), list_people(session)
        assert (firm.legal_form, firm.legal_name, firm.postcode) == ("sole-trader", "Ines Tarn", "ZZ1 2AB")
        assert firm.address == "2 Mill Lane\nMillbeck"
        assert (firm.bank_sort_code, firm.bank_account_number, firm.payment_days) == ("00-00-00", "00000000", 14)
        assert not firm.vat_registered and firm.logo_png is None and firm.rulebook_id == "uk-2012"
        assert (owner.role, owner.initials) == ("owner", "IT")
        assert PASSWORD not in owner.password_hash and owner.password_hash.startswith("$argon2id$")


REGISTERED = {name: COMPANY[name] for name in ("company_number", "registered_in", "registered_office")}
LEGAL_FORMS = {
    "company with VAT": (
        COMPANY | {"vat_registered": "yes", "vat_number": "999 9999 73"},
        {"company_number": "00000000", "vat_number": "999 9999 73"},
    ),
    "LLP": ({"legal_form": "llp"} | REGISTERED, {"registered_in": "England and Wales"}),
    "charity": (
        {"legal_form": "charity", "charity_number": "0000000"},
        {"charity_number": "0000000", "company_number": ""},
    ),
    "partnership": (
        {"legal_form": "partnership", "legal_name": "Ines Tarn and Joss Alder"},
        {"legal_name": "Ines Tarn and Joss Alder"},
    ),
    "a sole trader's hidden fields": (
        REGISTERED | {"charity_number": "1", "vat_number": "12"},
        dict.fromkeys([*REGISTERED, "charity_number", "vat_number"], ""),
    ),
}


@pytest.mark.parametrize(("more", "kept"), LEGAL_FORMS.values(), ids=LEGAL_FORMS)
def test_each_legal_form_keeps_what_it_must_show(
    browse_as: BrowseAs, desk: Desk, more: dict[str, str], kept: dict[str, str]
) -> None:
    answer = at_set_up(browse_as(None)).post("/set-up", FIELDS | more)
    assert answer.status_code == 303
    with desk.database.reading() as session:
        firm = get_firm(session)
        assert {name: getattr(firm, name) for name in kept} == kept


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"name": "", "legal_name": " "}, {"name", "legal_name"}),
        ({"legal_form": "guild"}, {"legal_form"}),
        ({"address": "", "postcode": ""}, {"address", "postcode"}),
        ({"phone": "", "email": ""}, {"phone"}),
        ({"email": "not an address"}, {"email"}),
        ({"legal_form": "limited-company"}, {"company_number", "registered_in", "registered_office"}),
        (COMPANY | {"registered_in": "Atlantis"}, {"registered_in"}),
        ({"legal_form": "charity"}, {"charity_number"}),
        ({"vat_registered": "yes", "vat_number": "12"}, {"vat_number"}),
        ({"vat_registered": "yes", "vat_number": ""}, {"vat_number"}),
        ({"payment_days": "soon"}, {"payment_days"}),
        ({"payment_days": ""}, {"payment_days"}),
        ({"payment_days": "121"}, {"payment_days"}),
        ({"payment_days": "-1"}, {"payment_days"}),
        ({"certificate_prefix": "C-1"}, {"certificate_prefix"}),
        ({"invoice_prefix": ""}, {"invoice_prefix"}),
        ({"invoice_prefix": "c"}, {"invoice_prefix"}),
        ({"bank_sort_code": "12345"}, {"bank_sort_code"}),
        ({"bank_sort_code": ""}, {"bank_sort_code"}),
        ({"bank_account_number": ""}, {"bank_account_number"}),
        ({"bank_account_number": "12AB5678"}, {"bank_account_number"}),
        ({"owner_name": ""}, {"owner_name"}),
        ({"owner_email": ""}, {"owner_email"}),
        ({"owner_email": "ines at tarn"}, {"owner_email"}),
        ({"owner_password": "short", "owner_password_again": "short"}, {"owner_password"}),
        ({"owner_password": "", "owner_password_again": ""}, {"owner_password"}),
        ({"owner_password": "electrician", "owner_password_again": "electrician"}, {"owner_password"}),
        ({"owner_password_again": "slate roof over the mall"}, {"owner_password_again"}),
        ({"name": "x" * 201}, {"name"}),
        ({"name": "", "payment_days": "soon", "owner_name": ""}, {"name", "payment_days", "owner_name"}),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_nothing_is_written(
    browse_as: BrowseAs, desk: Desk, changes: dict[str, str], wrong: set[str]
) -> None:
    answer = at_set_up(browse_as(None)).post("/set-up", FIELDS | changes)
    assert answer.status_code == 422
    assert mistakes_in(answer.text) == wrong
    assert answer.text.count('href="#f-') == len(wrong)
    assert 'value="office@tarn-alder.example"' in answer.text or "email" in changes, "what was typed stays"
    assert PASSWORD not in answer.text
    assert SESSION not in answer.cookies
    assert nothing_is_there(desk)


@pytest.mark.parametrize(("kind", "size"), [("PNG", (300, 90)), ("JPEG", (3000, 900))])
def test_a_logo_is_made_anew_as_a_plain_png(browse_as: BrowseAs, desk: Desk, kind: str, size: tuple[int, int]) -> None:
    browse = at_set_up(browse_as(None))
    files = {"logo": ("logo.svg", picture(kind, size), "image/svg+xml")}
    answer = browse.send("POST", "/set-up", data=FIELDS | {"csrf": browse.csrf}, files=files)
    assert answer.status_code == 303
    with desk.database.reading() as session:
        kept = get_firm(session).logo_png
    assert kept is not None
    with Image.open(io.BytesIO(kept)) as logo:
        assert logo.format == "PNG" and max(logo.size) <= 800
        assert logo.size[0] / logo.size[1] == pytest.approx(size[0] / size[1], rel=0.02)


@pytest.mark.parametrize(
    "content",
    [
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"GIF89a" + bytes(50),
        b"not a picture",
        picture()[:40],
        picture() + bytes(4_000_000),
    ],
    ids=["svg", "gif", "text", "cut short", "too large"],
)
def test_what_is_no_picture_is_refused_beside_its_field(browse_as: BrowseAs, desk: Desk, content: bytes) -> None:
    browse = at_set_up(browse_as(None))
    files = {"logo": ("logo.png", content, "image/png")}
    answer = browse.send("POST", "/set-up", data=FIELDS | {"csrf": browse.csrf}, files=files)
    assert answer.status_code == 422 and mistakes_in(answer.text) == {"logo"}
    assert nothing_is_there(desk)


@pytest.mark.parametrize("code", ["", "set-up", "set-up-code-and-more", "0", "SET UP CODE"])
def test_without_the_code_nothing_is_set_up(browse_as: BrowseAs, desk: Desk, code: str) -> None:
    answer = at_set_up(browse_as(None)).post("/set-up", FIELDS | {"code": code, "name": ""})
    assert answer.status_code == 422
    assert mistakes_in(answer.text) == {"code"}, "a stranger learns nothing of the rest"
    assert nothing_is_there(desk)


def test_the_code_may_be_typed_as_people_type(browse_as: BrowseAs, desk: Desk) -> None:
    answer = at_set_up(browse_as(None)).post("/set-up", FIELDS | {"code": " Set-Up -Code "})
    assert answer.status_code == 303


def test_after_ten_wrong_codes_even_the_right_one_waits(browse_as: BrowseAs, desk: Desk, clock: Clock) -> None:
    browse = at_set_up(browse_as(None))
    for _ in range(GUESSES_MOST):
        assert browse.post("/set-up", FIELDS | {"code": "guess"}).status_code == 422
    assert browse.post("/set-up", FIELDS).status_code == 409
    assert nothing_is_there(desk)
    clock.pass_time(minutes=15)
    assert browse.post("/set-up", FIELDS).status_code == 303


def test_a_server_without_a_code_sets_up_nothing(browse_as: BrowseAs, desk: Desk) -> None:
    browse = at_set_up(browse_as(None))
    browse.app.state.set_up_code = ""
    for code in ("", CODE, " "):
        assert browse.post("/set-up", FIELDS | {"code": code}).status_code == 422
    assert nothing_is_there(desk)
    page = browse.get("/set-up").text
    assert "<form" not in page and "one-time code" in page


def test_a_firm_is_set_up_once(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    """Also by two owners at once: whoever comes second finds it done."""
    for browse in (browse_as(None), browse_as(world.owner)):
        assert browse.get("/set-up").headers["location"] == "/"
    stranger = browse_as(None)
    stranger.cookies.set("ohmstead_form", "token")
    answer = stranger.post("/set-up", FIELDS | {"csrf": "token"})
    assert answer.headers["location"] == "/" and SESSION not in answer.cookies
    with desk.database.reading() as session:
        assert get_firm(session).legal_form == LegalForm.LIMITED_COMPANY
        assert len(list_people(session)) == 3


def test_the_form_starts_with_what_is_usual(browse_as: BrowseAs, desk: Desk) -> None:
    page = browse_as(None).get("/set-up").text
    for name, value in (("certificate_prefix", "C"), ("invoice_prefix", "INV"), ("payment_days", "30")):
        assert re.search(rf'name="{name}"[^>]* value="{value}"', page), name
    assert 'type="password"' in page and 'enctype="multipart/form-data"' in page
