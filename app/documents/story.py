"""A customer's three years as a paper to hand over at a meeting: figures, sentences and pictures, on one page."""

from datetime import date
from typing import Any

from app.documents.letterhead import letterhead_from
from app.documents.picture_files import svg_from
from app.documents.typesetting import day_from, span_from
from app.rules.certificates import CustomerFacts
from app.rules.letterheads import FirmFacts
from app.rules.stories import Story

#: Two pictures stand side by side.
WIDTH, ROWS_MOST = 330, 5


def story_from(firm: FirmFacts, customer: CustomerFacts, story: Story, day: date) -> dict[str, Any]:
    """Give all that the paper says. drawings: the pictures as SVG files, by name."""
    pictures = []
    drawings = {}
    for place, picture in enumerate(story.pictures, 1):
        name = f"picture-{place}.svg"
        drawings[name] = svg_from(picture.shortened(ROWS_MOST), WIDTH)
        table = "; ".join(", ".join(part for part in row if part) for row in picture.table)
        pictures.append(
            {
                "name": name,
                "title": picture.title,
                "sentence": picture.sentence,
                "alternative": f"{picture.title}. {', '.join(picture.head)}: {table}.",
                "empty": picture.is_empty,
            }
        )
    return {
        "paper": "story",
        "title": "Three years at a glance",
        "number": "",
        "issued_on": day.isoformat(),
        "letterhead": letterhead_from(firm),
        "customer": {"name": customer.name},
        "span": span_from(story.starts_on, story.ends_on),
        "made_on": day_from(day),
        "figures": [[number, word] for number, word in story.figures],
        "sentences": list(story.sentences),
        "pictures": pictures,
        "drawings": drawings,
        "caution": (
            "Rates count an item once, as failed where it failed at any test of the time; tests after a repair are "
            "left out. Intervals are exact 95 % intervals. This page is a summary and no certificate: what holds for "
            "an item is its certificate, and the dutyholder’s own duties remain."
        ),
    }
