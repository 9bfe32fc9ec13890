"""What e-mails to customers say: the kinds of messages, the firm's first text of each, and their plain placeholders.

A placeholder is a name in braces. What is put in its place is not looked at again, and nothing in a text is ever run.
One that says nothing in a kind of message is a mistake there, so that no customer ever reads a brace.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from app.rules import reminders
from app.rules.mails import check_header

SUBJECT_MOST, BODY_MOST = 150, 6000
LINK = "{link}"
_PLACEHOLDER = re.compile(r"\{([^{}\n]{0,60})\}")


class MailKind(StrEnum):
    CERTIFICATE = "certificate"
    INVOICE = "invoice"
    LINK = "link"
    PAPER = "paper"
    QUOTE = "quote"
    CREDIT_NOTE = "credit-note"
    CLAIM = "claim"
    FOLDER = "folder"
    STATEMENT = "statement"
    REMINDER = "reminder"
    BOOKING = "booking"
    COMING = "coming"
    CALLED_OFF = "called-off"
    RECALL = "recall"

    @property
    def word(self) -> str:
        return {
            "link": "share link alone",
            "paper": "any other paper",
            "credit-note": "credit note",
            "claim": "claim for late payment",
            "folder": "link to all papers",
            "statement": "statement of account",
            "booking": "booking confirmed",
            "coming": "visit coming up",
            "called-off": "visit called off",
            "recall": "tests fall due",
        }.get(self.value, self.value)


#: About a visit that is still to come; the first has an invitation for the customer's calendar with it.
BEFORE_THE_VISIT = (MailKind.BOOKING, MailKind.COMING)
#: About a visit that is over.
AFTER_THE_VISIT = (MailKind.CERTIFICATE, MailKind.INVOICE, MailKind.LINK)
#: Nothing but a link: such a message is of no use without it.
LINK_ALONE = (MailKind.LINK, MailKind.FOLDER)

PLACEHOLDERS = {
    "contact": "the contact's name, else the customer's",
    "customer": "the customer's name",
    "premises": "the premises",
    "about": "what a paper or a link is about: an item, premises, or all of them",
    "paper": "what kind of paper it is, with its number",
    "day": "the day of the visit; else that of the paper",
    "time": "its time, where one is agreed",
    "technician": "who comes",
    "length": "how long the visit takes",
    "items": "how many items fall due",
    "falls due": "the day on which the first of them falls due",
    "number": "the number of the paper",
    "amount": "what is to be paid, on an invoice or an account; else what the paper comes to",
    "due": "the day by which it is to be paid; of a quote, until when it holds",
    "link": "the address of the share link; it is made as the message leaves",
    "firm": "the firm's name",
    "sender": "who writes",
}
_VISIT_TO_COME = ("premises", "day", "time", "technician", "length")
_SAY_SOMETHING: dict[MailKind, tuple[str, ...]] = {
    MailKind.CERTIFICATE: ("premises", "day", "number", "link"),
    MailKind.INVOICE: ("premises", "day", "number", "amount", "due", "link"),
    MailKind.LINK: ("premises", "day", "number", "link"),
    MailKind.PAPER: ("about", "paper", "day", "number", "link"),
    MailKind.QUOTE: ("premises", "day", "number", "amount", "due", "link"),
    MailKind.CREDIT_NOTE: ("day", "number", "amount", "link"),
    MailKind.CLAIM: ("day", "number", "amount", "link"),
    MailKind.FOLDER: ("about", "link"),
    MailKind.STATEMENT: ("day", "amount", "link"),
    MailKind.BOOKING: _VISIT_TO_COME,
    MailKind.COMING: _VISIT_TO_COME,
    MailKind.CALLED_OFF: _VISIT_TO_COME,
    MailKind.RECALL: ("premises", "items", "falls due"),
}


@dataclass(frozen=True)
class MailText:
    subject: str
    body: str


#: The first text of every kind; reminders have theirs in three tones, in app/rules/reminders.py.
FIRST_TEXTS = {
    MailKind.CERTIFICATE: MailText(
        "Certificate {number}: {premises}, {day}",
        "Dear {contact},\n\n"
        "The equipment at {premises} was inspected and tested on {day}. Certificate {number} says what passed, what "
        "failed and what to do about it.\n\n"
        "You can also read it, and fetch every paper of the visit, at this address. Keep it to yourself, for it opens "
        "without a password:\n\n{link}\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.INVOICE: MailText(
        "Invoice {number} from {firm}",
        "Dear {contact},\n\n"
        "Here is invoice {number} for our work at {premises}: {amount}, to be paid by {due}.\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.LINK: MailText(
        "Inspection and test at {premises}, {day}",
        "Dear {contact},\n\n"
        "The papers of our visit to {premises} on {day} are at this address. Keep it to yourself, for it opens without "
        "a password:\n\n{link}\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.PAPER: MailText(
        "Our {paper}: {about}",
        "Dear {contact},\n\n"
        "Attached is our {paper} of {day}: {about}.\n\n"
        "It can also be read at this address. Keep it to yourself, for it opens without a password:\n\n{link}\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.QUOTE: MailText(
        "Quote {number} from {firm}",
        "Dear {contact},\n\n"
        "Thank you for asking us. Attached is quote {number} for the inspection and test of the electrical equipment "
        "at {premises}. It comes to {amount} and holds until {due}.\n\n"
        "If it suits you, answer this message and we will find a day. If something is not as you expected, tell us.\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.CREDIT_NOTE: MailText(
        "Credit note {number} from {firm}",
        "Dear {contact},\n\n"
        "Attached is credit note {number} of {day} for {amount}. It says which invoice it corrects, and why.\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.CLAIM: MailText(
        "Late payment: {number}, {amount}",
        "Dear {contact},\n\n"
        "An invoice of ours was not paid in time. Attached is our claim {number} for late payment, {amount}; it shows "
        "how the sum is worked out.\n\n"
        "If you see it differently, tell us and we will look at it together.\n\n"
        "Yours sincerely\n{sender}\n{firm}",
    ),
    MailKind.FOLDER: MailText(
        "Your papers from {firm}: {about}",
        "Dear {contact},\n\n"
        "Our papers about {about}, and what falls due there next, are at this address. New papers are added by "
        "themselves. Keep the address to yourself, for it opens without a password:\n\n{link}\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.STATEMENT: MailText(
        "Statement of account up to {day}",
        "Dear {contact},\n\n"
        "Attached is the statement of your account with us up to {day}. By our books the balance is {amount}.\n\n"
        "If yours differ, tell us and we will look at it together.\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.BOOKING: MailText(
        "Your visit on {day}: {premises}",
        "Dear {contact},\n\n"
        "Thank you for booking us. {technician} comes to {premises} on {day}{time} to inspect and test your electrical "
        "equipment, and will need about {length}.\n\n"
        "Please have the equipment where it is used, and tell whoever works there that each piece is unplugged for a "
        "few minutes. Please say which ones must not be switched off.\n\n"
        "If the day does not suit you, tell us and we will find another.\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.COMING: MailText(
        "We come on {day}: {premises}",
        "Dear {contact},\n\n"
        "A short word to remind you that {technician} comes to {premises} on {day}{time}, for about {length}.\n\n"
        "Please keep the way to the equipment clear, and tell us if anything has changed.\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.CALLED_OFF: MailText(
        "Called off: our visit on {day}",
        "Dear {contact},\n\n"
        "Our visit to {premises} on {day}{time} does not take place. We are sorry for the trouble and will be in "
        "touch about another day.\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.RECALL: MailText(
        "Your tests fall due: {premises}",
        "Dear {contact},\n\n"
        "By our records {items} at {premises} fall due for the next inspection and test, the first on {falls due}.\n\n"
        "Shall we come? Answer this letter or call us, and we will find a day that suits you. The interval is a "
        "suggestion by what the equipment is and where it is used; the dutyholder decides what is soon enough.\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
}


def list_placeholders(kind: MailKind) -> dict[str, str]:
    """The placeholders that say something in a kind of message, and what each of them is."""
    if kind == MailKind.REMINDER:
        return reminders.PLACEHOLDERS | {"link": PLACEHOLDERS["link"]}
    names = ("contact", "customer", *_SAY_SOMETHING[kind], "firm", "sender")
    return {name: PLACEHOLDERS[name] for name in names}


def has_link(kind: MailKind) -> bool:
    """Whether a message of a kind may have a link to papers in it."""
    return "link" in list_placeholders(kind)


def check_mail_text(text: MailText, kind: MailKind, values: Mapping[str, str] | None = None) -> dict[str, str]:
    """What is wrong, by field name. values: those already put in, whose own braces are no placeholders."""
    known, own = " ".join((values or {}).values()), list_placeholders(kind)
    mistakes = {}
    for name, words, most in (("subject", text.subject, SUBJECT_MOST), ("body", text.body, BODY_MOST)):
        found = dict.fromkeys(word for word in _PLACEHOLDER.findall(words) if word not in own)
        wrong = [word for word in found if f"{{{word}}}" not in known]
        unknown = [f"{{{word}}}" for word in wrong if word not in PLACEHOLDERS]
        if not words.strip():
            mistakes[name] = "Write something here."
        elif len(words) > most:
            mistakes[name] = f"Use at most {most} characters; there are {len(words)}."
        elif unknown:
            mistakes[name] = f"There is no placeholder {', '.join(unknown)}."
        elif wrong:
            mistakes[name] = f"{', '.join(f'{{{word}}}' for word in wrong)} says nothing in this message. Take it out."
    if "subject" not in mistakes and (sentence := check_header(text.subject)):
        mistakes["subject"] = sentence
    if "subject" not in mistakes and LINK in text.subject:
        mistakes["subject"] = "The link does not belong in a subject, which anybody on the way can read."
    return mistakes


def check_filled_text(text: MailText, kind: MailKind, values: Mapping[str, str]) -> tuple[MailText, dict[str, str]]:
    """A text with its values put in, and what is wrong with it before or after that, by field name."""
    filled = describe_mail(text, values)
    return filled, check_mail_text(filled, kind, values) | check_mail_text(text, kind, values)


def describe_mail(text: MailText, values: Mapping[str, str]) -> MailText:
    """Put the values in place of their placeholders, in one pass; a placeholder without a value stays."""

    def fill(words: str) -> str:
        return _PLACEHOLDER.sub(lambda found: values.get(found[1], found[0]), words)

    body = re.sub(r"\n{3,}", "\n\n", fill(text.body)).strip()
    return MailText(" ".join(fill(text.subject).split()), body)
