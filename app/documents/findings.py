"""What a certificate says of items put right on the spot, and its photos: each with words for who cannot see it."""

from typing import Any

from app.documents.schedule import explained_from, item_from
from app.rules.certificates import ItemResult


def put_right_from(row: ItemResult) -> dict[str, Any]:
    """Give what was found first, what put it right, and what the new test gave."""
    found = [
        text
        for first in row.found_first
        for text in (
            *(f"{defect.text.rstrip('.')}." for defect in first.defects if defect.text),
            *explained_from(first.readings, first.defects),
        )
    ]
    return item_from(row) | {
        "found": list(dict.fromkeys(found)),
        "done": [f"{first.put_right[:1].upper()}{first.put_right[1:].rstrip('.')}." for first in row.found_first],
        "verdict": row.verdict.value,
        "word": "not tested again" if row.not_tested_reason or not row.readings else row.verdict.word,
        "photos": photos_from(row),
    }


def photos_from(row: ItemResult) -> list[dict[str, Any]]:
    """Give the photos of an item by id, with the name that the drawing knows each by."""
    return [{"id": photo.id, "name": name_from(photo.id), "words": photo.words} for photo in row.photos]


def name_from(photo_id: int) -> str:
    """Name a photo as papers do."""
    return f"photo-{photo_id}.jpg"
