"""Drawing a paper with all its files: one, or a cover and its parts, two of them at a time."""

import hashlib
import shutil
import tempfile
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

from app.actions.deeds import Desk
from app.actions.drawings import Tell
from app.actions.paper_files import PutAside, settle_paper, write_synced
from app.documents.drawing import DRAWERS, PROCESSES
from app.documents.findings import name_from
from app.documents.parts import (
    PartFile,
    cover_data_from,
    part_data_from,
    part_spans_from,
    planned_parts_from,
    rows_from,
)
from app.rules.certificates import list_photo_ids
from app.rules.people import Person
from app.rules.verdicts import Refused
from app.store.firms import get_firm
from app.store.photos import list_small_pictures

Given = TypeVar("Given")
Got = TypeVar("Got")

_ROWS_A_PAGE = 16  # roughly; only the bar depends on it
_LAYING_OUT = 0.6  # of the time that a file takes
_ASIDE = ".drawing-"
_LEFT_OVER_SECONDS = 86_400


@dataclass(frozen=True)
class KeptPaper:
    """A kind of paper that is kept with its data and drawn from it: how its parts and drawings are filed, how its row
    is got (from a session, by id, locked or not), and as what a row is drawn.
    """

    noun: str
    get: Callable[..., Any]
    drawing: Callable[[Any], str]


@dataclass
class _Bar:
    """Adds up how much of several drawings is done, each by its weight."""

    tell: Tell
    whole: float

    def __post_init__(self) -> None:
        self._done: dict[object, float] = {}
        self._lock = threading.Lock()

    def say(self, what: object, weight: float) -> None:
        with self._lock:
            self._done[what] = weight
            self.tell(sum(self._done.values()) / self.whole)


def draw_and_settle(desk: Desk, person: Person | None, kept: KeptPaper, paper_id: int, tell: Tell) -> None:
    """Draw a pending paper outside any transaction, keep its files and mark it issued; nothing if it is no longer
    pending. Refuses like draw_paper.
    """
    with desk.reading_only() as session:
        row = kept.get(session, paper_id)
        if row.state != "pending":
            return  # somebody else was first
        drawing, data, logo, name = kept.drawing(row), row.data, get_firm(session).logo_png, row.file_name
        shown = list_small_pictures(session, list_photo_ids(data))
    photos = {name_from(photo_id): small for photo_id, small in shown.items()}
    content, parts = draw_with_parts(desk.papers_folder, drawing, name, data, logo, photos, tell)
    with desk.doing(person) as deed:
        row = kept.get(deed.session, paper_id, locked=True)
        settle_paper(deed, desk.papers_folder, kept.noun, row, content, parts)


def draw_with_parts(
    folder: Path,
    paper: str,
    file_name: str,
    data: Mapping[str, Any],
    logo: bytes | None,
    photos: Mapping[str, bytes],
    tell: Tell = lambda done: None,
) -> tuple[bytes, PutAside | None]:
    """Draw a paper, and give its file, or its cover and the parts put aside in the folder. Refuses like draw_paper."""
    import app.documents.signatures  # noqa: F401  takes a second that no transaction should pay

    spans = part_spans_from(data)
    if not spans:
        bar = _Bar(tell, 1.05)  # signing and keeping come after it
        told = _told(bar, paper, 1.0, len(rows_from(data)) / _ROWS_A_PAGE + 2)
        return DRAWERS.draw(paper, data, logo, photos, told=told)[0], None
    folder.mkdir(parents=True, exist_ok=True)
    _clear(folder)
    aside = Path(tempfile.mkdtemp(prefix=_ASIDE, dir=folder))
    try:
        return _draw_all(aside, paper, Path(file_name).stem, data, logo, photos, tell)
    except BaseException:
        shutil.rmtree(aside, ignore_errors=True)
        raise


def _draw_all(
    aside: Path,
    paper: str,
    stem: str,
    data: Mapping[str, Any],
    logo: bytes | None,
    photos: Mapping[str, bytes],
    tell: Tell,
) -> tuple[bytes, PutAside]:
    """Lay every file out first, since each page names how many there are; then draw the parts, then the cover."""
    count = len(part_spans_from(data))
    bar = _Bar(tell, (count + 1) * (1 + _LAYING_OUT) + 0.05)

    def draw(said: dict[str, Any], only_count: bool, pages: float) -> tuple[bytes, int]:
        weight = _LAYING_OUT if only_count else 1.0
        what = (said.get("part", {}).get("place", 0), only_count)
        told = _told(bar, what, weight, pages)
        shown = {name: photo for name, photo in photos.items() if name in _photos_in(said)}
        drawn = DRAWERS.draw(paper, said, logo, shown, only_count=only_count, can_wait=True, told=told)
        bar.say(what, weight)
        return drawn

    def count_pages(place: int) -> int:
        if place:
            return draw(part_data_from(data, place), True, data["rows_a_part"] / _ROWS_A_PAGE)[1]
        planned = list(planned_parts_from(data, stem, [1] * (count + 1)))
        return draw(cover_data_from(data, planned, 1), True, 3)[1]

    def keep(part: PartFile) -> PartFile:
        content, drawn = draw(part_data_from(data, part.place, part.first_page, whole), False, part.pages)
        _check_pages(drawn, part.pages)
        write_synced(aside / part.file_name, content)
        return replace(part, sha256=hashlib.sha256(content).hexdigest(), size_bytes=len(content))

    pages = _in_pairs(count_pages, range(count + 1))
    whole = sum(pages)
    parts = _in_pairs(keep, list(planned_parts_from(data, stem, pages)))
    cover, drawn = draw(cover_data_from(data, parts, whole), False, pages[0])
    _check_pages(drawn, pages[0])
    return cover, PutAside(aside, tuple(parts))


def _in_pairs(work: Callable[[Given], Got], given: Sequence[Given]) -> list[Got]:
    """Do work for each, as many at a time as there are processes; the first that fails ends the rest."""
    with ThreadPoolExecutor(PROCESSES, thread_name_prefix="part") as pool:
        begun = [pool.submit(work, each) for each in given]
        try:
            return [each.result() for each in begun]
        except BaseException:
            for each in begun:
                each.cancel()
            raise


def _told(bar: _Bar, what: object, weight: float, pages: float) -> Callable[[int], None]:
    return lambda page: bar.say(what, weight * min(page / pages, 1.0) * (_LAYING_OUT if weight == 1.0 else 1.0))


def _check_pages(drawn: int, planned: int) -> None:
    if drawn != planned:
        raise Refused("The pages came out otherwise than they were counted, so the paper was not made. Try again.")


def _photos_in(data: Mapping[str, Any]) -> set[str]:
    """The names of the photos that a file shows."""
    lists = (data.get(name, ()) for name in ("failed", "put_right"))
    return {photo["name"] for items in lists for item in items for photo in item.get("photos", ())}


def _clear(folder: Path) -> None:
    """Remove what drawings that were cut off put aside. A day is longer than any drawing takes."""
    for left in folder.glob(f"{_ASIDE}*"):
        if left.stat().st_mtime < time.time() - _LEFT_OVER_SECONDS:
            shutil.rmtree(left, ignore_errors=True)
