"""The keys of everybody who comes to the firm at work: cookies, and the token that their forms carry."""

from dataclasses import replace
from datetime import timedelta

from app.actions import people
from app.actions.deeds import Desk
from app.rules.people import Person, PersonDetails, Role
from app.store.people import find_sign_in
from app.web.kit import FORM_TOKEN, SESSION
from tests.cast import PASSWORD, Clock, World

PLAIN = "of-the-sign-in-page"


def firm_keys(desk: Desk, world: World, clock: Clock) -> dict[str, tuple[dict[str, str], str]]:
    """For each kind of person: the cookies, and the token that their forms carry."""
    gone = PersonDetails("Kit Marsh", "kit@tarn-alder.example", Role.OWNER, "KM")
    with desk.doing(world.owner) as deed:
        left = people.add_person(deed, gone, PASSWORD)
    keys = {
        "nobody": ({FORM_TOKEN: PLAIN}, PLAIN),
        "left": _once_signed_in(desk, left),
        **{person.role.value: _sign_in(desk, person) for person in (world.owner, world.office, world.technician)},
    }
    with desk.doing(world.owner) as deed:
        people.change_person(deed, left.id, replace(gone, active=False))
    now = clock.now
    clock.now = now - timedelta(days=30)
    keys["expired"] = _once_signed_in(desk, world.owner)
    clock.now = now
    return keys


def _once_signed_in(desk: Desk, person: Person) -> tuple[dict[str, str], str]:
    """The old cookie, and that of the sign-in page, whose token is the only one that still goes for something."""
    return _sign_in(desk, person)[0] | {FORM_TOKEN: PLAIN}, PLAIN


def _sign_in(desk: Desk, person: Person) -> tuple[dict[str, str], str]:
    with desk.doing(None) as deed:
        token = people.sign_in(deed, f"{person.name.split()[0].lower()}@tarn-alder.example", PASSWORD)
        assert token is not None
        row = find_sign_in(deed.session, people.hash_of(token), deed.now)
        assert row is not None
        return {SESSION: token}, row.csrf
