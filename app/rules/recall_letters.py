"""The letter to a customer about recalled products: its first words, from the items that a person confirmed."""

from collections.abc import Iterable
from dataclasses import dataclass

from app.rules.recalls import Notice, describe_recall_remedy

SUBJECT_MOST, BODY_MOST = 150, 6000


@dataclass(frozen=True)
class RecalledItem:
    """place: location and premises in words."""

    number: str
    description: str
    place: str
    notice: Notice
    out_of_use: bool


@dataclass(frozen=True)
class RecallLetter:
    subject: str
    body: str


def suggest_recall_letter(contact: str, firm: str, sender: str, items: Iterable[RecalledItem]) -> RecallLetter:
    """Suggest the letter; a person may change every word of it."""
    told = list(items)
    one = len(told) == 1
    parts = [
        f"Dear {contact},",
        f"A list of recalled products names {'an item' if one else 'items'} that we have on the register of your "
        f"equipment. We looked at {'it' if one else 'them'} and believe that the recall is about "
        f"{'this one' if one else 'these'}. Please do not use {'it' if one else 'them'} until that is settled.",
    ]
    for item in told:
        lines = [f"Item {item.number}, {item.description}, {item.place}: {item.notice.name}"]
        if item.notice.reference:
            lines.append(f"Notice: {item.notice.reference}")
        if item.notice.hazard:
            lines.append(f"What is wrong: {item.notice.hazard}")
        lines.append(f"What to do: {describe_recall_remedy(item.notice)}")
        lines.append("We have taken it out of use." if item.out_of_use else "It is still in use by our records.")
        parts.append("\n".join(lines))
    parts.append(
        "The maker’s or the authority’s own notice is what counts; please read it. A recall is carried out by the "
        "maker or the seller. Tell us when it is done, and we will put it on the register."
    )
    parts.append(f"With kind regards\n{sender}\n{firm}")
    return RecallLetter("A recall of equipment that you have", "\n\n".join(parts))


def check_recall_letter(letter: RecallLetter) -> dict[str, str]:
    """What is wrong, by field name."""
    mistakes = {}
    for name, words, most in (("subject", letter.subject, SUBJECT_MOST), ("body", letter.body, BODY_MOST)):
        if not words.strip():
            mistakes[name] = "Write something here."
        elif len(words) > most:
            mistakes[name] = f"Use at most {most:,} characters; there are {len(words):,}."
    return mistakes
