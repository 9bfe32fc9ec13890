"""Backing up and restoring everything: the database, the issued papers, and a manifest of their SHA-256."""

import hashlib
import json
import os
import shutil
from datetime import datetime
from pathlib import Path

from app.rules.verdicts import Refused
from app.store.backups import NotCopied, copy_database, copy_name, is_empty, put_back_database
from app.store.database import Database
from app.store.migrate import find_version

MANIFEST = "manifest.json"
PAPERS = "papers"


def back_up(database: Database, papers_folder: Path, to: Path, now: datetime) -> dict[str, str]:
    """Write a backup into a new or empty folder and give its manifest: file name to SHA-256.

    The folder appears under its name only when everything in it is written. Refuses a folder with something in it.
    """
    if to.exists() and (not to.is_dir() or any(to.iterdir())):
        raise Refused(f"{to} is not an empty folder. A backup never overwrites another; name a new folder.")
    part = to.with_name(f".{to.name}.part")
    shutil.rmtree(part, ignore_errors=True)
    (part / PAPERS).mkdir(parents=True)
    try:
        copy_database(database, part / copy_name(database))
        for file in sorted(papers_folder.glob("*.pdf")) if papers_folder.is_dir() else []:
            shutil.copyfile(file, part / PAPERS / file.name)
        files = {
            path.relative_to(part).as_posix(): hash_of_file(path) for path in sorted(part.rglob("*")) if path.is_file()
        }
        manifest = {"made_at": now.isoformat(), "schema": find_version(database.engine) or "", "files": files}
        (part / MANIFEST).write_text(json.dumps(manifest, indent=1, sort_keys=True), "utf-8")
        for path in part.rglob("*"):
            if path.is_file():
                _sync(path)
        if to.exists():
            to.rmdir()
        part.replace(to)
    except NotCopied as problem:
        raise Refused(f"The backup was not made. {problem}") from problem
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return files


def check_backup(folder: Path) -> dict[str, str]:
    """Check every file of a backup against its manifest and give the manifest. Refuses a damaged backup."""
    try:
        files: dict[str, str] = json.loads((folder / MANIFEST).read_text("utf-8"))["files"]
    except (OSError, ValueError, KeyError, TypeError) as problem:
        raise Refused(f"{folder} is not a backup: {MANIFEST} is missing or unreadable.") from problem
    for name, sha256 in files.items():
        path = (folder / name).resolve()
        if folder.resolve() not in path.parents:
            raise Refused(f"The backup names a file outside its folder: {name}")
        if not path.is_file():
            raise Refused(f"The backup is incomplete: {name} is missing.")
        if hash_of_file(path) != sha256:
            raise Refused(f"The backup is damaged: {name} is not what was saved.")
    return files


def restore(database: Database, papers_folder: Path, folder: Path, overwrite: bool = False) -> int:
    """Put a backup back and give the number of papers. Everything is checked before anything is changed.

    Refuses when there is data already, unless told to overwrite; an SQLite file and the papers that were there
    are then kept beside the new ones under a name that ends in "before-restore".
    """
    files = check_backup(folder)
    copy = folder / copy_name(database)
    if copy.name not in files:
        raise Refused("This backup is of the other kind of database (SQLite or PostgreSQL).")
    papers = [name for name in files if name.startswith(f"{PAPERS}/")]
    full = not is_empty(database) or (papers_folder.is_dir() and any(papers_folder.iterdir()))
    if full and not overwrite:
        raise Refused("There is data here already. Restore into an empty place, or add --overwrite.")
    if full:
        _set_aside(database, papers_folder)
    try:
        put_back_database(database, copy)
    except NotCopied as problem:
        raise Refused(f"The backup was not restored. {problem}") from problem
    papers_folder.mkdir(parents=True, exist_ok=True)
    for name in papers:
        shutil.copyfile(folder / name, papers_folder / Path(name).name)
        _sync(papers_folder / Path(name).name)
    return len(papers)


def _set_aside(database: Database, papers_folder: Path) -> None:
    if database.engine.dialect.name != "sqlite":
        if not is_empty(database):
            raise Refused("The PostgreSQL database is not empty. Make an empty one and name it in OHMSTEAD_DATABASE.")
    else:
        database.close()
        file = Path(str(database.engine.url.database))
        for suffix in ("", "-wal", "-shm"):
            old = file.with_name(file.name + suffix)
            if old.exists():
                old.replace(_free(file.with_name(f"{file.name}.before-restore{suffix}")))
    if papers_folder.is_dir() and any(papers_folder.iterdir()):
        papers_folder.replace(_free(papers_folder.with_name(f"{papers_folder.name}.before-restore")))


def _free(path: Path) -> Path:
    number, free = 1, path
    while free.exists():
        number += 1
        free = path.with_name(f"{path.name}-{number}")
    return free


def hash_of_file(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())
