"""The file name under which somebody keeps a paper: what it is, its number, for whom, of which day. Plain ASCII."""

import re
import unicodedata
from datetime import date

_LONGEST_NAME = 40


def suggest_file_name(paper: str, number: str, whom: str, day: date, ending: str = "pdf") -> str:
    """Suggest a name such as Certificate C-000123 Saltgate Brewery 2026-03-04.pdf, safe on every computer.

    ending is one of our own.
    """
    plain = unicodedata.normalize("NFKD", whom).encode("ascii", "ignore").decode()
    whom = " ".join(re.sub(r"[^A-Za-z0-9 -]+", " ", plain).split())[:_LONGEST_NAME].strip()
    words = [paper.capitalize(), re.sub(r"[^A-Za-z0-9-]", "", number), whom, day.isoformat()]
    return " ".join(word for word in words if word) + f".{ending}"
