"""Writes that may arrive twice: the key is taken before the deed, its answer kept with it, all in one transaction."""

from datetime import timedelta
from typing import Any

from app.actions.deeds import Deed
from app.store.database import CLASHES
from app.store.keyed_writes import KeyedWriteRow, find_keyed_write, remove_keyed_writes_before

#: How long a repeat still gets the first answer: longer than a tablet stays away.
KEPT = timedelta(days=90)


class KeyTaken(Exception):
    """The key has been used. What was done under it stands, and nothing more is done."""

    def __init__(self, key: str, body_hash: str) -> None:
        super().__init__(key)
        self.key, self.body_hash = key, body_hash


def take_key(deed: Deed, key: str, body_hash: str) -> KeyedWriteRow:
    """Take a key for what follows in this transaction. Raises KeyTaken.

    Of two copies that arrive at once the second waits here, in the database, until the first is committed or undone.
    """
    now = deed.written_at or deed.now
    if find_keyed_write(deed.session, key) is not None:
        raise KeyTaken(key, body_hash)
    remove_keyed_writes_before(deed.session, now - KEPT)
    row = KeyedWriteRow(key=key, person_id=deed.doer.id, body_hash=body_hash, at=now)
    deed.session.add(row)
    try:
        deed.session.flush()
    except CLASHES as taken:
        raise KeyTaken(key, body_hash) from taken
    return row


def keep_answer(deed: Deed, row: KeyedWriteRow, answer: dict[str, Any]) -> None:
    """Keep what is answered, with the deed that it is about."""
    row.answer = answer
    deed.session.flush()


def give_key_back(deed: Deed, row: KeyedWriteRow) -> None:
    """Forget a key under which nothing was answered that a repeat could be given."""
    deed.session.delete(row)
