"""What happened at today's visit beside plain passes: a failure with its photo, and a fuse put right on the spot."""

import io
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from random import Random

from PIL import Image, ImageDraw, ImageFilter

from app.actions.deeds import Desk
from app.actions.photos import add_photo
from app.actions.readings import record_item
from app.actions.remedies import put_right
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.people import Person
from app.rules.remedies import Change, PutRight
from app.rules.rulebooks import rulebook_named
from app.rules.verdicts import Outcome
from app.store.readings import list_visit_items
from demo_data.readings import invent_entries


def work_on_the_spot(desk: Desk, technician: Person, visit_id: int, luck: Random, until: datetime) -> None:
    """Take a photo of the item that failed, and put another one right whose fuse was too large for its cord."""
    with desk.doing(technician) as deed:
        rows = list_visit_items(deed.session, visit_id)
        failed = next(row for row in rows if row.verdict == "fail")
        add_photo(deed, visit_id, failed.item_id, draw_plug(Random(1), cracked=True), "As it was found")
        row = next(row for row in rows if row.verdict == "pass" and row.facts.fuse_a == 3 and row.facts.cord)
        deed = replace(deed, now=until)
        row.item.fuse_a = Decimal(13)
        note = "13 A fuse, too large for the cord"
        seen = Entry(Check.VISUAL, outcome=Outcome.FAIL, point="plug-fuse", note=note)
        record_item(deed, visit_id, row.item_id, [seen])
        add_photo(deed, visit_id, row.item_id, draw_plug(Random(2)), "13 A fuse in the plug of a thin cord")
        put_right(deed, visit_id, row.item_id, PutRight(Change.FUSE, fuse_a=Decimal(3)))
        entries, _ = invent_entries(row.item.facts, rulebook_named(row.visit.rulebook_id), luck, failing=False)
        record_item(replace(deed, now=until + timedelta(minutes=4)), visit_id, row.item_id, entries)


def draw_plug(luck: Random, cracked: bool = False) -> bytes:
    """A plug on a bench, drawn: enough to show how a photo looks on pages and papers."""
    picture = Image.new("RGB", (960, 720), "#b9a98c")
    draw = ImageDraw.Draw(picture)
    for _ in range(220):
        across, down = luck.randrange(960), luck.randrange(720)
        draw.line((across, down, across + luck.randrange(40, 160), down + 3), fill="#ad9c7e", width=3)
    draw.line((480, 720, 470, 560, 500, 470), fill="#2b2b2d", width=44, joint="curve")
    draw.rounded_rectangle((300, 180, 660, 500), 70, fill="#f1efe9", outline="#c9c5ba", width=6)
    draw.rectangle((458, 215, 502, 305), fill="#b98d3e")
    for left in (352, 546):
        draw.rectangle((left, 360, left + 62, 410), fill="#b98d3e")
    draw.rounded_rectangle((420, 335, 540, 375), 12, fill="#8a5a2b" if not cracked else "#d8d4c8")
    if cracked:
        draw.line((330, 200, 392, 262, 372, 318, 428, 372, 402, 470), fill="#3a2f28", width=7)
        draw.ellipse((300, 380, 400, 480), fill="#8d7a66")
    out = io.BytesIO()
    picture.filter(ImageFilter.GaussianBlur(1.2)).save(out, "JPEG", quality=88)
    return out.getvalue()
