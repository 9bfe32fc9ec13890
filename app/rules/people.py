"""Who works with Ohmstead and what each role may do; what a password must be; how guesses are slowed."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

#: NIST SP 800-63B and OWASP ASVS 5.0 6.2.1 ask for at least 8 and advise 15; length is what counts.
PASSWORD_LEAST = 10
PASSWORD_MOST = 200
#: OWASP ASVS 6.3.1 asks for a written limit on guesses; the figures are ours.
GUESSES_MOST = 10
GUESSES_WINDOW = timedelta(minutes=15)


class Role(StrEnum):
    """What a person is at the firm."""

    OWNER = "owner"
    OFFICE = "office"
    TECHNICIAN = "technician"


@dataclass(frozen=True)
class Person:
    """The person who does something, as rules and actions see them."""

    id: int
    name: str
    role: Role
    initials: str = ""

    @property
    def sees_money(self) -> bool:
        return self.role in (Role.OWNER, Role.OFFICE)


@dataclass(frozen=True)
class PersonDetails:
    """What is kept about a person, apart from the password."""

    name: str
    email: str
    role: Role
    initials: str
    active: bool = True


def check_password(password: str, name: str = "", email: str = "") -> str | None:
    """Say what is wrong with a new password, or nothing. No rules on kinds of characters: length counts."""
    if len(password) < PASSWORD_LEAST:
        return f"Use at least {PASSWORD_LEAST} characters; a few words in a row are easy to remember."
    if len(password) > PASSWORD_MOST:
        return f"Use at most {PASSWORD_MOST} characters."
    plain = password.casefold()
    if len(set(plain)) < 5 or plain in (name.casefold(), email.casefold()) or plain in COMMON:
        return "That is one of the first things anybody would try. Choose something less easy to guess."
    return None


def may_guess(failed_at: list[datetime], now: datetime) -> bool:
    """Whether one more password may be tried, given the moments of earlier failures."""
    return sum(now - moment < GUESSES_WINDOW for moment in failed_at) < GUESSES_MOST


def limit_session(role: Role) -> timedelta:
    """How long a sign-in lasts: a working day in the office, longer on a technician's tablet."""
    return timedelta(days=14) if role == Role.TECHNICIAN else timedelta(hours=14)


# From memory: passwords that lead every published list and are long enough for the rule above.
COMMON = frozenset(
    "password12 password123 password1234 1234567890 12345678910 0123456789 0987654321 9876543210 qwertyuiop "
    "qwerty1234 qwerty12345 1q2w3e4r5t 1qaz2wsx3edc letmein123 welcome123 iloveyou12 iloveyou123 administrator "
    "changeme123 football123 liverpool1 sunshine123 princess123 password01 passw0rd123 abcdefghij abcd123456 "
    "abc1234567 electrician electricity electrical ohmstead123 zaq12wsxcde q1w2e3r4t5 qazwsxedcr asdfghjkl1".split()
)
