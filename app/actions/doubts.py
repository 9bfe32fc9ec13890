"""Saying what was decided about records that are in doubt because an instrument failed."""

from app.actions.deeds import Deed, say_day
from app.rules.verdicts import Mistakes, Refused
from app.store.doubts import DoubtAnswerRow, InstrumentDoubt, count_last_reading, get_doubt


def decide_on_doubt(deed: Deed, instrument_id: int, key: str, decided: str) -> DoubtAnswerRow:
    """Keep a decision about the records of a doubt, in words. It can be added to and is never taken away.

    It is for the span and the readings that are known now: whatever joins the doubt later opens it again. Raises
    Mistakes without words, and refuses where no record is in doubt.
    """
    kept = get_doubt(deed.session, instrument_id, key)
    if not kept.readings:
        raise Refused("Nothing was measured with it in that time, so there is nothing to decide.")
    decided = " ".join(decided.split())
    if not decided:
        raise Mistakes({"decided": "Say what was decided, such as: tested again on site, or no effect because …"})
    row = DoubtAnswerRow(
        instrument_id=instrument_id,
        failures=list(kept.doubt.failures),
        since=kept.doubt.since,
        until=kept.doubt.until or deed.today,
        last_reading_id=count_last_reading(deed.session, kept),
        decided=decided,
        person_id=deed.doer.id,
        person_name=deed.doer.name,
        said_at=deed.now,
        said_on=deed.today,
    )
    deed.session.add(row)
    deed.session.flush()
    deed.note("instrument", instrument_id, f"Decided about the records in doubt since {_told(kept)}: {decided}")
    return row


def _told(kept: InstrumentDoubt) -> str:
    return f"{kept.instrument.name} failed its {kept.doubt.cause} on {say_day(kept.doubt.failed_on)}"
