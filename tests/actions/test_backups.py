"""Backup and restore on both databases, with the manifest checked on the way back."""

import json
from pathlib import Path

import pytest

from app.actions.backups import MANIFEST, back_up, check_backup, restore
from app.actions.deeds import Desk
from app.actions.paper_files import keep_paper
from app.rules.verdicts import Refused
from app.store.customers import list_customers
from app.store.database import Database
from tests.cast import World


@pytest.fixture
def empty_url(request: pytest.FixtureRequest, desk: Desk, tmp_path: Path) -> str:
    """The address of an empty database of the same kind as the desk's."""
    if desk.database.engine.dialect.name == "sqlite":
        return f"sqlite:///{tmp_path / 'elsewhere' / 'ohmstead.db'}"
    url: str = request.getfixturevalue("empty_postgres_url")
    return url


def make_backup(desk: Desk, folder: Path) -> Path:
    keep_paper(desk.papers_folder, "C-000001.pdf", b"%PDF-1.7 a paper")
    back_up(desk.database, desk.papers_folder, folder, desk.now)
    return folder


def test_everything_comes_back(desk: Desk, world: World, tmp_path: Path, empty_url: str) -> None:
    backup = make_backup(desk, tmp_path / "backup")
    (tmp_path / "elsewhere").mkdir()
    other = Database(empty_url)
    assert restore(other, tmp_path / "elsewhere" / "papers", backup) == 1
    with other.reading() as session, desk.reading_only() as before:
        names = [row.name for row in list_customers(session)]
        assert names == [row.name for row in list_customers(before)] != []
    other.close()
    assert (tmp_path / "elsewhere" / "papers" / "C-000001.pdf").read_bytes() == b"%PDF-1.7 a paper"


def test_nothing_is_overwritten_unasked(desk: Desk, world: World, tmp_path: Path) -> None:
    backup = make_backup(desk, tmp_path / "backup")
    with pytest.raises(Refused, match="not an empty folder"):
        back_up(desk.database, desk.papers_folder, backup, desk.now)
    with pytest.raises(Refused, match="There is data here already"):
        restore(desk.database, desk.papers_folder, backup)


def test_one_changed_byte_is_found(desk: Desk, world: World, tmp_path: Path, empty_url: str) -> None:
    backup = make_backup(desk, tmp_path / "backup")
    paper = backup / "papers" / "C-000001.pdf"
    paper.write_bytes(paper.read_bytes()[:-1] + b"x")
    other = Database(empty_url) if not empty_url.startswith("sqlite") else None
    with pytest.raises(Refused, match="papers/C-000001.pdf is not what was saved"):
        check_backup(backup)
    if other is not None:
        with pytest.raises(Refused):
            restore(other, tmp_path / "elsewhere" / "papers", backup)
        other.close()


def test_a_file_outside_the_folder_is_refused(desk: Desk, world: World, tmp_path: Path) -> None:
    backup = make_backup(desk, tmp_path / "backup")
    manifest = json.loads((backup / MANIFEST).read_text())
    manifest["files"]["../stolen"] = "0" * 64
    (backup / MANIFEST).write_text(json.dumps(manifest))
    with pytest.raises(Refused, match="outside its folder"):
        check_backup(backup)


def test_overwriting_sets_the_old_data_aside(desk: Desk, world: World, tmp_path: Path) -> None:
    if desk.database.engine.dialect.name != "sqlite":
        backup = make_backup(desk, tmp_path / "backup")
        with pytest.raises(Refused, match="not empty"):
            restore(desk.database, desk.papers_folder, backup, overwrite=True)
        return
    backup = make_backup(desk, tmp_path / "backup")
    assert restore(desk.database, desk.papers_folder, backup, overwrite=True) == 1
    assert (tmp_path / "ohmstead.db.before-restore").exists()
    assert (tmp_path / "papers.before-restore" / "C-000001.pdf").exists()
    with desk.reading_only() as session:
        assert len(list_customers(session)) == 2


def test_a_half_made_backup_never_has_the_name(desk: Desk, world: World, tmp_path: Path) -> None:
    desk.papers_folder.mkdir()
    (desk.papers_folder / "unreadable.pdf").mkdir()  # a folder where a paper should be cannot be copied
    with pytest.raises(OSError):
        back_up(desk.database, desk.papers_folder, tmp_path / "backup", desk.now)
    assert not (tmp_path / "backup").exists()
