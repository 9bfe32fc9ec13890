"""Reminder letters in three tones: the firm's own texts with plain placeholders, filled once and never run.

A placeholder is a name in braces, as in {total}. What is put in its place is not looked at again, so a customer's name
that holds braces stays as it is.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

SUBJECT_MOST = 150
BODY_MOST = 4000
_PLACEHOLDER = re.compile(r"\{([^{}\n]{0,60})\}")

PLACEHOLDERS = {
    "contact": "the contact's name, else the customer's",
    "customer": "the customer's name",
    "invoices": "one line for each overdue invoice",
    "total": "what is overdue altogether",
    "oldest due": "the day on which the oldest of them was due",
    "days late": "how many days ago that was",
    "how to pay": "the firm's bank account",
    "firm": "the firm's name",
    "sender": "who writes",
}


class Tone(StrEnum):
    FRIENDLY = "friendly"
    FIRM = "firm"
    FINAL = "final"


@dataclass(frozen=True)
class ReminderText:
    subject: str
    body: str


FIRST_TEXTS = {
    Tone.FRIENDLY: ReminderText(
        "A reminder from {firm}",
        "Dear {contact},\n\n"
        "May we remind you of the following, which seems to have slipped through:\n\n"
        "{invoices}\n\n"
        "If the money is already on its way, please take no notice of this. "
        "If anything about the invoice is not as you expected, tell us and we will put it right.\n\n"
        "{how to pay}\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    Tone.FIRM: ReminderText(
        "Overdue: {total} to {firm}",
        "Dear {contact},\n\n"
        "According to our books {total} is overdue, the oldest part since {oldest due}, {days late} days ago:\n\n"
        "{invoices}\n\n"
        "Please pay it within seven days, or tell us within that time what stands in the way.\n\n"
        "{how to pay}\n\n"
        "Yours sincerely\n{sender}\n{firm}",
    ),
    Tone.FINAL: ReminderText(
        "Last reminder before further steps: {total}",
        "Dear {contact},\n\n"
        "We have written to you before about what {customer} owes us. {total} is still not paid:\n\n"
        "{invoices}\n\n"
        "Unless it reaches us within seven days of this letter, we will consider what the law allows us, which may "
        "include interest and a fixed sum for late payment where it applies, and a claim in court. We would much "
        "rather settle this with you: please call us.\n\n"
        "{how to pay}\n\n"
        "Yours sincerely\n{sender}\n{firm}",
    ),
}


def check_reminder_text(text: ReminderText) -> dict[str, str]:
    """What is wrong, by field name: empty, too long, or a placeholder that there is not."""
    mistakes = {}
    for name, words, most in (("subject", text.subject, SUBJECT_MOST), ("body", text.body, BODY_MOST)):
        unknown = [f"{{{found}}}" for found in _PLACEHOLDER.findall(words) if found not in PLACEHOLDERS]
        if not words.strip():
            mistakes[name] = "Write something here."
        elif len(words) > most:
            mistakes[name] = f"Use at most {most} characters; there are {len(words)}."
        elif unknown:
            mistakes[name] = f"There is no placeholder {', '.join(dict.fromkeys(unknown))}."
    if "subject" not in mistakes and "{invoices}" in text.subject:
        mistakes["subject"] = "The list of invoices does not fit in a subject."
    return mistakes


def describe_reminder(text: ReminderText, values: Mapping[str, str]) -> ReminderText:
    """Put the values in place of the placeholders, in one pass; a subject is one line."""

    def fill(words: str) -> str:
        return _PLACEHOLDER.sub(lambda found: values.get(found[1], found[0]), words)

    subject = " ".join(fill(text.subject).split())
    body = re.sub(r"\n{3,}", "\n\n", fill(text.body)).strip()
    return ReminderText(subject, body)


def suggest_tone(sent: int) -> Tone:
    """Suggest the tone of the next letter, after so many of them about what is overdue now."""
    return list(Tone)[min(sent, 2)]
