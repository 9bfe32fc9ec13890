"""By when somebody who asks what is kept about them must have the answer (UK GDPR, article 12(3), as the ICO counts).

One calendar month from the day it came; a month without that day ends on its last; a weekend or public holiday moves
it to the next working day.
"""

from collections.abc import Collection
from datetime import date, timedelta

from app.rules.intervals import next_due


def next_answer_day(received_on: date, holidays: Collection[date] = ()) -> date:
    """Give the last day for the answer. holidays: public holidays where the firm is."""
    day = next_due(received_on, 1) or received_on
    while day.weekday() >= 5 or day in holidays:
        day += timedelta(days=1)
    return day
