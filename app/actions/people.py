"""Signing in and out, and the people of the firm. Tokens are kept only as their SHA-256."""

import hashlib
import hmac
import secrets
from dataclasses import replace

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerifyMismatchError

from app.actions.deeds import Deed, check_version, columns_of, fill
from app.rules.customers import check_email
from app.rules.people import Person, PersonDetails, Role, check_password, limit_session, may_guess
from app.rules.verdicts import Mistakes, Refused
from app.store.people import (
    GuessRow,
    PersonRow,
    SignInRow,
    find_person_by_email,
    get_person,
    list_guesses,
    list_people,
    remove_expired_sign_ins,
    remove_guesses,
    remove_sign_in,
    remove_sign_ins_of,
)

#: OWASP Password Storage: argon2id with at least 19 MiB, 2 passes, 1 lane.
_hasher = PasswordHasher(time_cost=2, memory_cost=19 * 1024, parallelism=1)
#: Checked when the e-mail address is unknown, so that the answer takes as long as for a known one.
_nobody = _hasher.hash(secrets.token_urlsafe(16))


def hash_of(token: str) -> str:
    """The SHA-256 of a token; enough for tokens of 128 bits and more (OWASP ASVS 5.0, 6.5.2)."""
    return hashlib.sha256(token.encode()).hexdigest()


def sign_in(deed: Deed, email: str, password: str) -> str | None:
    """Sign somebody in. Gives the token for the cookie, or nothing when the two do not belong together.

    The caller commits in both cases: a failed guess is kept. Refuses when there were too many.
    """
    email = email.strip().casefold()
    _slow_down(deed, email, "for this e-mail address")
    row = find_person_by_email(deed.session, email)
    try:
        _hasher.verify(row.password_hash if row else _nobody, password)
        right = row is not None and row.active
    except (VerifyMismatchError, InvalidHashError):
        right = False
    if not right or row is None:
        deed.session.add(GuessRow(who=email, failed_at=deed.now))
        return None
    remove_guesses(deed.session, email)
    remove_expired_sign_ins(deed.session, deed.now)
    token = _open_session(deed, row)
    replace(deed, person=row.as_person).note("person", row.id, "Signed in.")
    return token


def enter_set_up_code(deed: Deed, typed: str, code: str, address: str) -> bool:
    """Whether the one-time code that the terminal shows was typed. code "" is never right.

    The caller commits in both cases: a failed guess is kept, by network address. Refuses when there were too many.
    """
    who = f"set-up code from {address}"
    _slow_down(deed, who, "at the code")
    if code and hmac.compare_digest("".join(typed.split()).casefold().encode(), code.casefold().encode()):
        return True
    deed.session.add(GuessRow(who=who, failed_at=deed.now))
    return False


def sign_out(deed: Deed, token: str) -> None:
    """End a sign-in. The token is dead from the next request on."""
    remove_sign_in(deed.session, hash_of(token))
    if deed.person:
        deed.note("person", deed.person.id, "Signed out.")


def end_sign_ins(deed: Deed, person_id: int) -> None:
    """End every sign-in of a person."""
    remove_sign_ins_of(deed.session, person_id)


def add_person(deed: Deed, details: PersonDetails, password: str) -> Person:
    """Add somebody who may sign in. Raises Mistakes."""
    details = _tidied(details)
    mistakes = _mistakes(deed, details, None)
    if wrong := check_password(password, details.name, details.email):
        mistakes["password"] = wrong
    if mistakes:
        raise Mistakes(mistakes)
    row = PersonRow(**columns_of(details), password_hash=_hasher.hash(password))
    deed.session.add(row)
    deed.session.flush()
    deed.note("person", row.id, f"Added {row.name} as {row.role}.")
    return row.as_person


def change_person(deed: Deed, person_id: int, details: PersonDetails, version: int | None = None) -> None:
    """Change a person's details. Raises Mistakes; refuses to leave the firm without an owner."""
    row = get_person(deed.session, person_id)
    check_version(row, version, "this person")
    details = _tidied(details)
    if mistakes := _mistakes(deed, details, row):
        raise Mistakes(mistakes)
    owners = [
        other for other in list_people(deed.session) if other.role == Role.OWNER and other.active and other.id != row.id
    ]
    if row.role == Role.OWNER and not owners and (details.role != Role.OWNER or not details.active):
        raise Refused("The firm needs at least one owner who can sign in. Make somebody else owner first.")
    rights_change = row.role != details.role or not details.active or row.email != details.email
    fill(row, details)
    if rights_change:
        end_sign_ins(deed, row.id)
    deed.note("person", row.id, f"Changed the details of {row.name}.")


def change_password(deed: Deed, person_id: int, password: str) -> None:
    """Set somebody else's new password and end their sign-ins. Raises Mistakes."""
    row = get_person(deed.session, person_id)
    if deed.person is not None and deed.person.id == row.id:
        raise Refused("Your own password is changed on its own page, which asks for the present one.")
    _set_password(deed, row, password)


def renew_password(deed: Deed, old_password: str, password: str) -> str | None:
    """Change one's own password, end one's sign-ins everywhere and open a new one.

    Gives its token, or nothing when the old password is wrong; the caller commits in both cases. Raises Mistakes
    for a poor new password; refuses after too many guesses at the old one.
    """
    row = get_person(deed.session, deed.doer.id)
    who = f"password of person {row.id}"
    _slow_down(deed, who, "at your present password")
    try:
        _hasher.verify(row.password_hash, old_password)
    except VerifyMismatchError:
        deed.session.add(GuessRow(who=who, failed_at=deed.now))
        return None
    remove_guesses(deed.session, who)
    _set_password(deed, row, password)
    return _open_session(deed, row)


def _set_password(deed: Deed, row: PersonRow, password: str) -> None:
    if wrong := check_password(password, row.name, row.email):
        raise Mistakes({"password": wrong})
    row.password_hash = _hasher.hash(password)
    end_sign_ins(deed, row.id)
    deed.note("person", row.id, f"Set a new password for {row.name}.")


def _open_session(deed: Deed, row: PersonRow) -> str:
    token = secrets.token_urlsafe(32)
    expires_at = deed.now + limit_session(Role(row.role))
    csrf = secrets.token_urlsafe(24)
    deed.session.add(
        SignInRow(token_hash=hash_of(token), csrf=csrf, person_id=row.id, made_at=deed.now, expires_at=expires_at)
    )
    return token


def _slow_down(deed: Deed, who: str, where: str) -> None:
    if not may_guess(list_guesses(deed.session, who), deed.now):
        raise Refused(f"Too many failed tries {where}. Wait a quarter of an hour, then try again.")


def _tidied(details: PersonDetails) -> PersonDetails:
    initials = details.initials.strip().upper() or "".join(word[0] for word in details.name.split()).upper()[:3]
    return replace(details, name=details.name.strip(), email=details.email.strip().casefold(), initials=initials)


def _mistakes(deed: Deed, details: PersonDetails, row: PersonRow | None) -> dict[str, str]:
    mistakes = {} if details.name else {"name": "Give the person's name."}
    if not details.email:
        mistakes["email"] = "Give the e-mail address; it is what the person signs in with."
    mistakes |= check_email(details.email)
    other = find_person_by_email(deed.session, details.email)
    if other is not None and other is not row:
        mistakes["email"] = f"{other.name} has this e-mail address already."
    return mistakes
