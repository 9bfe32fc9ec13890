"""Passwords and the one-time code: set, renewed, guessed at. The figures of the guessing limit are our own."""

from datetime import timedelta

import pytest

from app.actions.deeds import Desk
from app.actions.people import add_person, change_password, enter_set_up_code, hash_of, renew_password, sign_in
from app.rules.people import GUESSES_MOST, Person, PersonDetails, Role
from app.rules.verdicts import Mistakes, Refused
from app.store.people import find_sign_in
from tests.cast import PASSWORD, Clock, World

NEW = "three herons by the weir"
EMAIL = "joss@tarn-alder.example"


def enter(desk: Desk, password: str, email: str = EMAIL) -> str | None:
    with desk.doing(None) as deed:
        return sign_in(deed, email, password)


def is_in(desk: Desk, token: str | None) -> bool:
    with desk.database.reading() as session:
        return token is not None and find_sign_in(session, hash_of(token), desk.now) is not None


def renew(desk: Desk, person: Person, old: str, new: str) -> str | None:
    with desk.doing(person) as deed:
        return renew_password(deed, old, new)


def test_a_renewed_password_ends_every_sign_in_and_opens_one(desk: Desk, world: World) -> None:
    tablet, desktop, of_another = (
        enter(desk, PASSWORD),
        enter(desk, PASSWORD),
        enter(desk, PASSWORD, "bea@tarn-alder.example"),
    )
    token = renew(desk, world.technician, PASSWORD, NEW)
    assert is_in(desk, token) and is_in(desk, of_another)
    assert not is_in(desk, tablet) and not is_in(desk, desktop)
    assert enter(desk, PASSWORD) is None
    assert enter(desk, NEW) is not None


def test_a_wrong_old_password_changes_nothing_and_counts_as_a_guess(desk: Desk, world: World, clock: Clock) -> None:
    tablet = enter(desk, PASSWORD)
    for _ in range(GUESSES_MOST):
        assert renew(desk, world.technician, "not the old one", NEW) is None
    with pytest.raises(Refused, match="quarter of an hour"):
        renew(desk, world.technician, PASSWORD, NEW)
    assert is_in(desk, tablet) and enter(desk, PASSWORD) is not None, "signing in has a count of its own"
    clock.pass_time(minutes=15)
    assert renew(desk, world.technician, PASSWORD, NEW) is not None


@pytest.mark.parametrize("poor", ["short", "1234567890", "a" * 30, "x" * 201, "Joss Alder", EMAIL])
def test_a_poor_new_password_is_refused_and_the_old_one_stays(desk: Desk, world: World, poor: str) -> None:
    with pytest.raises(Mistakes) as wrong:
        renew(desk, world.technician, PASSWORD, poor)
    assert set(wrong.value.messages) == {"password"}
    assert enter(desk, PASSWORD) is not None


def test_a_long_password_counts_to_its_last_letter(desk: Desk, world: World) -> None:
    """OWASP ASVS 5.0, 6.2.8 and 6.2.9: at least 64 characters, nothing cut off."""
    long = "Zwölf Boxkämpfer jagen Viktor quer über den großen Sylter Deich, sagt man. " * 2
    assert renew(desk, world.technician, PASSWORD, long) is not None
    assert enter(desk, long) is not None
    assert enter(desk, long[:-1]) is None
    assert enter(desk, long.upper()) is None


def test_the_owner_gives_somebody_a_new_password(desk: Desk, world: World) -> None:
    tablet = enter(desk, PASSWORD)
    with desk.doing(world.owner) as deed:
        change_password(deed, world.technician.id, NEW)
    assert not is_in(desk, tablet)
    assert enter(desk, NEW) is not None


def test_ones_own_password_is_not_changed_without_the_old_one(desk: Desk, world: World) -> None:
    with pytest.raises(Refused), desk.doing(world.owner) as deed:
        change_password(deed, world.owner.id, NEW)
    assert enter(desk, PASSWORD, "ines@tarn-alder.example") is not None


@pytest.mark.parametrize(
    ("typed", "code", "right"),
    [
        ("ab12cd34", "ab12cd34", True),
        (" AB12 cd34\n", "ab12cd34", True),
        ("ab12cd3", "ab12cd34", False),
        ("", "ab12cd34", False),
        ("", "", False),
        ("ab12cd34", "", False),
        ("äb12cd34", "ab12cd34", False),
    ],
)
def test_the_set_up_code(desk: Desk, typed: str, code: str, right: bool) -> None:
    with desk.doing(None) as deed:
        assert enter_set_up_code(deed, typed, code, "192.0.2.7") is right


def test_guesses_at_the_code_are_counted_by_network_address(desk: Desk, clock: Clock) -> None:
    for _ in range(GUESSES_MOST):
        with desk.doing(None) as deed:
            assert not enter_set_up_code(deed, "guess", "ab12cd34", "192.0.2.7")
    with pytest.raises(Refused), desk.doing(None) as deed:
        enter_set_up_code(deed, "ab12cd34", "ab12cd34", "192.0.2.7")
    with desk.doing(None) as deed:
        assert enter_set_up_code(deed, "ab12cd34", "ab12cd34", "192.0.2.8"), "nobody locks out somebody else"
    clock.now += timedelta(minutes=15)
    with desk.doing(None) as deed:
        assert enter_set_up_code(deed, "ab12cd34", "ab12cd34", "192.0.2.7")


def test_an_e_mail_address_belongs_to_one_person(desk: Desk, world: World) -> None:
    with pytest.raises(Mistakes) as wrong, desk.doing(world.owner) as deed:
        add_person(deed, PersonDetails("Somebody Else", f" {EMAIL.upper()}", Role.OFFICE, "SE"), NEW)
    assert set(wrong.value.messages) == {"email"}
