"""What a search looks for: words brought to one form, so that "Müller", "T-4471" and "c000025" are found as typed."""

import unicodedata
from enum import StrEnum

WORDS_MOST = 8
WORD_LENGTH_MOST = 40


class Subject(StrEnum):
    """What can be found, in the order in which a list of what was found names them."""

    CUSTOMER = "customer"
    PREMISES = "premises"
    ITEM = "item"
    VISIT = "visit"
    CERTIFICATE = "certificate"
    PAPER = "paper"
    QUOTE = "quote"
    INVOICE = "invoice"
    CREDIT_NOTE = "credit note"
    CLAIM = "claim"
    INSTRUMENT = "instrument"


#: What a person who sees no money may find: no papers.
WITHOUT_MONEY = (Subject.CUSTOMER, Subject.PREMISES, Subject.ITEM, Subject.VISIT, Subject.INSTRUMENT)


def list_search_words(*texts: str) -> tuple[str, ...]:
    """List the words of some texts, once each: small letters without accents, cut at everything else."""
    words: dict[str, None] = {}
    for text in texts:
        plain = "".join(
            letter for letter in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(letter)
        )
        words |= dict.fromkeys("".join(letter if letter.isalnum() else " " for letter in plain).split())
    return tuple(words)


def list_code_words(*codes: str) -> tuple[str, ...]:
    """List the words under which numbers are found: in parts, in one piece, and without leading zeros."""
    found: dict[str, None] = {}
    for code in codes:
        parts = list_search_words(code)
        stripped = (part.lstrip("0") for part in parts)
        found |= dict.fromkeys((*parts, "".join(parts), *(part for part in stripped if part)))
    found.pop("", None)
    return tuple(found)


def parse_search(text: str) -> tuple[str, ...]:
    """Give the words to look for, each the beginning of one that is kept; at most eight."""
    return tuple(word[:WORD_LENGTH_MOST] for word in list_search_words(text[:400])[:WORDS_MOST])
