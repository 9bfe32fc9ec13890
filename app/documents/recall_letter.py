"""A letter about recalled products as data; it is drawn as every letter of the firm."""

from datetime import date
from typing import Any

from app.documents.reminder import reminder_from
from app.rules.certificates import CustomerFacts
from app.rules.letterheads import FirmFacts
from app.rules.recall_letters import RecallLetter
from app.rules.reminders import ReminderText


def recall_letter_from(firm: FirmFacts, customer: CustomerFacts, letter: RecallLetter, day: date) -> dict[str, Any]:
    """Give all that the letter says."""
    return reminder_from(firm, customer, ReminderText(letter.subject, letter.body), day)
