"""How long the demo's technicians take, and when a long visit goes on the next day."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from zoneinfo import ZoneInfo

from app.actions.deeds import Deed

MORNING, EVENING = time(9), time(17)


def after_next_item(deed: Deed, luck: Random, kind: str, later: list[date], zone: ZoneInfo) -> Deed:
    """The deed as of when the next item is done: leads and cords are quicker than the rest.

    later: the days on which the visit goes on in the morning; one that is begun is taken out.
    """
    usual = 115 if "lead" in kind or "cord" in kind else 160
    took = timedelta(seconds=round(usual * luck.uniform(0.6, 1.5)))
    if later and (deed.now + took).astimezone(zone).time() >= EVENING:
        day = later.pop(0)
        return replace(deed, now=datetime.combine(day, MORNING, zone).astimezone(UTC) + took, today=day)
    return replace(deed, now=deed.now + took)
