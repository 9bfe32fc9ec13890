"""Issued papers as files: drawn from their frozen data, written so that a crash leaves either the whole file or none,
and checked when read.
"""

import hashlib
import os
from pathlib import Path
from typing import Any, Protocol

from app.actions.deeds import KEYS, Deed
from app.actions.signing_keys import open_signing_key
from app.rules.verdicts import Refused


class PendingPaper(Protocol):
    """A row of an issued or pending paper."""

    id: int
    number: Any
    state: str
    file_name: str
    sha256: str
    size_bytes: int


def draw_paper(paper: str, data: dict[str, Any], logo: bytes | None, photos: dict[str, bytes] | None = None) -> bytes:
    """Draw a paper as a PDF. Loading renderer and signer takes a second that no start of the program should pay."""
    import app.documents.signatures  # noqa: F401  loaded here, so that no transaction waits for it
    from app.documents.pdf import to_pdf

    return to_pdf(paper, data, logo_png=logo, photos=photos)


def settle_paper(deed: Deed, folder: Path, paper: str, row: PendingPaper, content: bytes) -> None:
    """Sign and keep the file of a pending paper and mark it issued; nothing changes when somebody else was first.

    The row is held meanwhile, so that file and hash belong together if two people press at once.
    """
    if row.state != "pending":
        return
    content = sign_paper(deed, folder.parent / KEYS, content)
    row.sha256, row.size_bytes = keep_paper(folder, row.file_name, content), len(content)
    row.state = "issued"
    deed.note(paper, row.id, f"Issued {paper} {row.number}, SHA-256 {row.sha256}.")


def sign_paper(deed: Deed, keys_folder: Path, content: bytes) -> bytes:
    """Sign a drawn paper with the firm's key, which is made when there is none yet."""
    from app.documents.signatures import signed_from

    return signed_from(content, open_signing_key(deed, keys_folder), deed.now)


def keep_paper(folder: Path, name: str, content: bytes) -> str:
    """Write a paper and give its SHA-256. It is on disk, under its name, when this returns."""
    folder.mkdir(parents=True, exist_ok=True)
    part = folder / f".{name}.part"
    with part.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    part.replace(folder / name)
    if hasattr(os, "O_DIRECTORY"):  # Windows cannot open a folder to sync it
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
    return hashlib.sha256(content).hexdigest()


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
