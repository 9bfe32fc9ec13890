"""The papers of a folder as files: one, or all of them with the names under which somebody keeps them."""

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from app.actions.deeds import Desk
from app.actions.paper_files import open_paper
from app.rules.file_names import suggest_file_name
from app.rules.verdicts import Refused
from app.store.folders import FolderPaper

log = logging.getLogger("ohmstead")
NO_LONGER = "No longer valid"
MISSING = "Papers that could not be added.txt"


@dataclass(frozen=True)
class FolderFile:
    """One file of a folder: its name there, where it lies, its SHA-256, and the day of its paper."""

    name: str
    path: Path
    sha256: str
    day: date


def open_folder_paper(desk: Desk, paper: FolderPaper) -> bytes:
    """The PDF of a paper of a folder, checked against its hash. Refuses where it is not what was issued."""
    return open_paper(desk.papers_folder, paper.file_name, paper.sha256)


def collect_folder(desk: Desk, papers: Sequence[FolderPaper]) -> tuple[list[FolderFile], str]:
    """Every file of some papers, each checked; and a text that names the papers left out because they are not in order.

    A paper that no longer holds lies in a folder that says so; one in parts is followed by its parts.
    """
    files: list[FolderFile] = []
    left_out: list[str] = []
    names: set[str] = set()
    for paper in papers:
        name = suggest_file_name(paper.kind.value, paper.number, paper.whom, paper.issued_on)
        stem = f"{NO_LONGER}/{name}".removesuffix(".pdf") if paper.gone else name.removesuffix(".pdf")
        if f"{stem}.pdf" in names:
            stem = f"{stem} ({paper.id})"
        parts = [
            (f"{stem}{f' part {place}' if place else ''}.pdf", *kept)
            for place, kept in enumerate(((paper.file_name, paper.sha256), *paper.parts))
        ]
        try:
            for _, file_name, sha256 in parts:
                open_paper(desk.papers_folder, file_name, sha256)
        except Refused as refused:
            log.error("shared paper not given out: %s", refused.sentence)
            left_out.append(paper.title)
            continue
        names.update(shown for shown, _, _ in parts)
        files += [
            FolderFile(shown, desk.papers_folder / file_name, sha256, paper.issued_on)
            for shown, file_name, sha256 in parts
        ]
    said = "These papers of ours are not in order, so we do not give them out. Please ask us for them.\n\n"
    return files, said + "\n".join(left_out) + "\n" if left_out else ""
