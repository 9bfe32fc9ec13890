"""The short code of a paper, printed beside a QR code, by which whoever holds it can check it."""

import secrets
from typing import Any

from app.actions.deeds import Deed
from app.store.paper_codes import add_paper_code

#: No vowels and nothing that is taken for something else, so that a code makes no words and can be read out.
LETTERS = "23456789BCDFGHJKMNPQRSTVWXZ"


def new_code() -> str:
    """A code that nobody guesses: 16 letters and digits in groups of four, about 75 bits."""
    return "-".join("".join(secrets.choice(LETTERS) for _ in range(4)) for _ in range(4))


def keep_code(deed: Deed, paper: str, paper_id: int, data: dict[str, Any], address: str) -> dict[str, Any]:
    """Give a paper about money its code; the data that it is drawn from, with the code and where it is checked.

    paper: the word for its kind; address: where the office is reached, without a slash at its end.
    """
    code = new_code()
    add_paper_code(deed.session, paper, paper_id, code)
    return data | {"check": {"url": f"{address}/check/{code}", "code": code}}
