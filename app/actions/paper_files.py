"""Issued papers as files: drawn from their frozen data, written so that a crash leaves either the whole file or none,
and checked when read.
"""

import hashlib
import logging
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from app.actions.deeds import KEYS, Deed
from app.actions.signing_keys import open_signing_key
from app.documents.drawing import DRAWERS
from app.documents.parts import PartFile
from app.rules.verdicts import Refused
from app.store.paper_parts import PaperPartRow, add_paper_part

log = logging.getLogger("ohmstead")


class PendingPaper(Protocol):
    """A row of an issued or pending paper."""

    id: int
    number: Any
    state: str
    file_name: str
    sha256: str
    size_bytes: int


@dataclass(frozen=True)
class PutAside:
    """The parts of a paper, whole and synced, in a folder of their own until the paper is settled."""

    folder: Path
    files: tuple[PartFile, ...]


def draw_paper(paper: str, data: dict[str, Any], logo: bytes | None, photos: dict[str, bytes] | None = None) -> bytes:
    """Draw a paper as a PDF, in another process. Refuses when that ended or took too long; nothing is kept then."""
    import app.documents.signatures  # noqa: F401  takes a second that neither a start nor a transaction should pay

    return DRAWERS.draw(paper, data, logo, photos)[0]


def settle_paper(
    deed: Deed, folder: Path, paper: str, row: PendingPaper, content: bytes, parts: PutAside | None = None
) -> None:
    """Sign and keep the file of a pending paper and mark it issued; nothing changes when somebody else was first.

    parts: of a paper in parts, whose cover the content is. The row is held meanwhile, so that files and hashes belong
    together if two people press at once.
    """
    if row.state != "pending":
        return
    if parts is not None:
        for part in parts.files:
            (parts.folder / part.file_name).replace(folder / part.file_name)
            add_paper_part(deed.session, paper, row.id, part)
        parts.folder.rmdir()
    content = sign_paper(deed, folder.parent / KEYS, content)
    row.sha256, row.size_bytes = keep_paper(folder, row.file_name, content), len(content)
    row.state = "issued"
    in_parts = f" in {len(parts.files)} parts" if parts else ""
    deed.note(paper, row.id, f"Issued {paper} {row.number}{in_parts}, SHA-256 {row.sha256}.")


def sign_paper(deed: Deed, keys_folder: Path, content: bytes) -> bytes:
    """Sign a drawn paper with the firm's key, which is made when there is none yet."""
    from app.documents.signatures import signed_from

    return signed_from(content, open_signing_key(deed, keys_folder), deed.now)


def keep_paper(folder: Path, name: str, content: bytes) -> str:
    """Write a paper and give its SHA-256. It is on disk, under its name, when this returns."""
    folder.mkdir(parents=True, exist_ok=True)
    part = folder / f".{name}.part"
    write_synced(part, content)
    part.replace(folder / name)
    if hasattr(os, "O_DIRECTORY"):  # Windows cannot open a folder to sync it
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
    return hashlib.sha256(content).hexdigest()


def write_synced(path: Path, content: bytes) -> None:
    """Write a file that is on disk when this returns."""
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def finish_each(pending: Sequence[int], finish: Callable[[int], object]) -> int:
    """Finish papers that were left pending, and give how many; one that cannot be drawn does not stop the others."""
    finished = 0
    for paper_id in pending:
        try:
            finish(paper_id)
        except Refused as refused:
            log.error("a paper stays pending: %s", refused.sentence)
        else:
            finished += 1
    return finished


def collect_files(folder: Path, row: PendingPaper, parts: Sequence[PaperPartRow]) -> list[tuple[Path, str]]:
    """Every file of an issued paper with its SHA-256, cover first, each checked. Refuses as open_paper does."""
    if row.state != "issued":
        raise Refused(f"{row.number} is still being made. Try again in a moment.")
    files = [(row.file_name, row.sha256), *((part.file_name, part.sha256) for part in parts)]
    for name, sha256 in files:
        open_paper(folder, name, sha256)
    return [(folder / name, sha256) for name, sha256 in files]


def open_paper(folder: Path, name: str, sha256: str) -> bytes:
    """Read a paper and check it against its SHA-256. Refuses when it is gone or is not what was issued."""
    try:
        content = (folder / name).read_bytes()
    except FileNotFoundError as gone:
        raise Refused(
            f"The file {name} is missing from the folder of issued papers. Restore it from a backup."
        ) from gone
    if hashlib.sha256(content).hexdigest() != sha256:
        raise Refused(f"The file {name} is not what was issued: its SHA-256 differs. Restore it from a backup.")
    return content
