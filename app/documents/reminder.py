"""A reminder letter as data: the firm's letterhead around the firm's own words."""

from datetime import date
from typing import Any

from app.documents.letterhead import letterhead_from
from app.documents.typesetting import day_from
from app.rules.certificates import CustomerFacts
from app.rules.letterheads import FirmFacts
from app.rules.reminders import ReminderText


def reminder_from(firm: FirmFacts, customer: CustomerFacts, text: ReminderText, day: date) -> dict[str, Any]:
    """Give all that the letter says. Paragraphs are parted by empty lines; lines within one stay lines."""
    return {
        "paper": "reminder",
        "title": text.subject,
        "number": "",
        "issued_on": day.isoformat(),
        "letterhead": letterhead_from(firm),
        "day": day_from(day),
        "customer": {
            "name": customer.name,
            "address": [line for line in customer.address if line.strip()],
            "contact": customer.contact,
        },
        "paragraphs": [part for part in text.body.split("\n\n") if part.strip()],
    }
