"""What made items fail, in words for people: the part that was seen to be wrong, or the test that was not passed."""

from collections.abc import Iterable

from app.rules.checks import Check

#: Parts of an item by the first word of a point's code (app/rules/visual_points.py), seen without any instrument.
_SEEN = {
    "plug": "a plug seen to be faulty",
    "cord": "a cord seen to be damaged",
    "case": "a case seen to be damaged",
    "switch": "a switch seen to be faulty",
    "heat": "signs of heat or water",
    "lead": "a lead of the wrong kind or use",
    "outlets": "an outlet seen to be faulty",
    "connector": "a connector seen to be faulty",
    "industrial": "a plug seen to be faulty",
    "door": "a door or its seal",
    "guards": "a guard missing or broken",
    "suitable": "wrong for its place or work",
    "marking": "marking that cannot be read",
}
FUSE = "a wrong fuse"


def describe_cause(check: str, point: str = "") -> str:
    """Say what made an item fail: the check, and the code of the point for what was looked at."""
    if check != Check.VISUAL:
        return Check(check).word
    if point == "plug-fuse":
        return FUSE
    return _SEEN.get(point.partition("-")[0], "something else seen to be wrong")


def count_causes(rows: Iterable[tuple[str, str, int]]) -> list[tuple[str, int]]:
    """Count the items by cause, from (check, point, item); an item counts once for each of its causes."""
    items: dict[str, set[int]] = {}
    for check, point, item_id in rows:
        items.setdefault(describe_cause(check, point), set()).add(item_id)
    return sorted(((name, len(ids)) for name, ids in items.items()), key=lambda each: (-each[1], each[0]))
