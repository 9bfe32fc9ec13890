"""The people of the firm, as the owner keeps them."""

import re

import pytest

from app.actions.deeds import Desk
from app.store.people import get_person, list_people
from tests.cast import PASSWORD, Browse, BrowseAs, World
from tests.web.test_set_up import mistakes_in
from tests.web.test_sign_in import sign_in

NEW = "three herons by the weir"
FIELDS = {"name": "Kit Marsh", "email": "kit@tarn-alder.example", "initials": "", "role": "technician"}
PASSWORDS = {"password": NEW, "password_again": NEW}


@pytest.fixture
def owner(browse_as: BrowseAs, world: World) -> Browse:
    return browse_as(world.owner)


def version_of(browse: Browse, person_id: int) -> str:
    found = re.search(r'name="version" value="(\d+)"', browse.get(f"/people/{person_id}/edit").text)
    assert found is not None
    return found[1]


def test_everybody_is_listed_with_role_and_who_has_left(owner: Browse, world: World) -> None:
    fields = {"name": "Bea Holm", "email": "bea@tarn-alder.example", "initials": "BH", "role": "office"}
    assert owner.post(f"/people/{world.office.id}", fields).status_code == 303
    page = owner.get("/people").text
    for word in ("Ines Tarn", "Bea Holm", "Joss Alder", "Owner", "Office", "Technician", "left"):
        assert word in page
    assert page.index("Joss Alder") < page.index("Bea Holm"), "who has left stands last"


def test_somebody_is_added_and_signs_in(owner: Browse, browse_as: BrowseAs, desk: Desk) -> None:
    answer = owner.post("/people", FIELDS | PASSWORDS)
    assert answer.status_code == 303
    assert "Kit Marsh can sign in now." in owner.get(answer.headers["location"]).text
    with desk.database.reading() as session:
        added = next(row for row in list_people(session) if row.name == "Kit Marsh")
        assert (added.role, added.initials, added.active) == ("technician", "KM", True)
    assert sign_in(browse_as(None), FIELDS["email"], NEW).status_code == 303


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"name": " "}, {"name"}),
        ({"email": ""}, {"email"}),
        ({"email": "kit"}, {"email"}),
        ({"email": "JOSS@tarn-alder.example"}, {"email"}),
        ({"role": "customer"}, {"role"}),
        ({"role": ""}, {"role"}),
        ({"initials": "KITTYM"}, {"initials"}),
        ({"password": "short", "password_again": "short"}, {"password"}),
        ({"password_again": ""}, {"password_again"}),
        ({"name": "", "password": "", "password_again": ""}, {"name", "password"}),
    ],
)
def test_what_is_wrong_stands_beside_its_field(
    owner: Browse, desk: Desk, changes: dict[str, str], wrong: set[str]
) -> None:
    answer = owner.post("/people", FIELDS | PASSWORDS | changes)
    assert answer.status_code == 422 and mistakes_in(answer.text) == wrong
    assert NEW not in answer.text
    with desk.database.reading() as session:
        assert len(list_people(session)) == 3


def test_a_change_is_kept_and_other_fields_are_not_taken(owner: Browse, world: World, desk: Desk) -> None:
    """OWASP ASVS 5.0, 15.3.3: only the fields of the form count."""
    person_id = world.technician.id
    fields = FIELDS | {"name": "Joss Elder", "active": "yes", "version": version_of(owner, person_id)}
    assert owner.post(f"/people/{person_id}", fields | {"id": "1", "password_hash": "x"}).status_code == 303
    with desk.database.reading() as session:
        row = get_person(session, person_id)
        assert (row.name, row.initials, row.email) == ("Joss Elder", "JE", "kit@tarn-alder.example")
        assert row.password_hash.startswith("$argon2id$")


def test_nobody_overwrites_what_somebody_else_saved_meanwhile(owner: Browse, world: World, desk: Desk) -> None:
    person_id = world.technician.id
    opened = version_of(owner, person_id)
    assert owner.post(f"/people/{person_id}", FIELDS | {"active": "yes", "version": opened}).status_code == 303
    second = owner.post(f"/people/{person_id}", FIELDS | {"name": "Too Late", "active": "yes", "version": opened})
    assert second.status_code == 409 and "Somebody else" in second.text
    with desk.database.reading() as session:
        assert get_person(session, person_id).name == "Kit Marsh"


@pytest.mark.parametrize("changes", [{"role": "office", "active": "yes"}, {"role": "owner", "active": ""}])
def test_the_firm_keeps_an_owner(owner: Browse, world: World, changes: dict[str, str]) -> None:
    fields = {"name": "Ines Tarn", "email": "ines@tarn-alder.example", "initials": "IT"}
    answer = owner.post(f"/people/{world.owner.id}", fields | changes)
    assert answer.status_code == 409 and "at least one owner" in answer.text
    assert owner.get("/people").status_code == 200


def test_a_new_password_for_somebody_else(owner: Browse, browse_as: BrowseAs, world: World) -> None:
    tablet = browse_as(world.technician)
    answer = owner.post(f"/people/{world.technician.id}/password", PASSWORDS)
    assert "has a new password" in owner.get(answer.headers["location"]).text
    assert tablet.get("/").headers["location"] == "/sign-in"
    assert sign_in(browse_as(None), password=PASSWORD).status_code == 422
    assert sign_in(browse_as(None), password=NEW).status_code == 303


@pytest.mark.parametrize(
    ("fields", "wrong"),
    [
        ({"password": "short", "password_again": "short"}, {"password"}),
        ({"password": NEW, "password_again": NEW.upper()}, {"password_again"}),
        ({}, {"password"}),
    ],
)
def test_a_poor_one_is_asked_for_again(owner: Browse, world: World, fields: dict[str, str], wrong: set[str]) -> None:
    answer = owner.post(f"/people/{world.technician.id}/password", fields)
    assert answer.status_code == 422 and mistakes_in(answer.text) == wrong
    assert 'value="Joss Alder"' in answer.text, "the other form on the page is as it was"


def test_ones_own_is_changed_elsewhere(owner: Browse, world: World) -> None:
    page = owner.get(f"/people/{world.owner.id}/edit").text
    assert 'href="/password"' in page and f"/people/{world.owner.id}/password" not in page
    assert owner.post(f"/people/{world.owner.id}/password", PASSWORDS).status_code == 409


def test_hostile_names_are_only_text(owner: Browse) -> None:
    owner.post("/people", FIELDS | PASSWORDS | {"name": '"><img src=x onerror=alert(1)>'})
    page = owner.get("/people").text
    assert "<img" not in page and "&lt;img" in page
    assert "<script>" not in owner.get("/people?saved=added&id=<script>").text
