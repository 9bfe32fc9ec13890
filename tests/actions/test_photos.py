"""Photos: made anew from their pixels, kept in the database and so in backups, removable until the visit is over."""

import io
from pathlib import Path

import pytest
from PIL import Image

from app.actions import visits
from app.actions.backups import back_up, restore
from app.actions.certificates import issue_certificate
from app.actions.deeds import Desk
from app.actions.photos import add_photo, picture_from, remove_photo
from app.actions.readings import leave_item, record_item
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.photos import BYTES_MOST, PHOTOS_MOST, SIDE, SMALL_SIDE
from app.rules.verdicts import Mistakes, Outcome, Refused
from app.rules.visits import NotTested
from app.store.database import Database, Missing
from app.store.journal import list_journal
from app.store.photos import get_photo, list_photos_of_visit, list_small_pictures
from tests.cast import Clock, World
from tests.pictures import jpeg_segments, photo

CRACKED = [Entry(Check.VISUAL, outcome=Outcome.FAIL, point="plug-body", note="cracked")]


@pytest.fixture
def begun(desk: Desk, world: World) -> World:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        record_item(deed, world.visit_id, world.item_ids[0], CRACKED)
    return world


@pytest.fixture
def empty_url(request: pytest.FixtureRequest, desk: Desk, tmp_path: Path) -> str:
    """The address of an empty database of the same kind as the desk's."""
    if desk.database.engine.dialect.name == "sqlite":
        return f"sqlite:///{tmp_path / 'other.db'}"
    url: str = request.getfixturevalue("empty_postgres_url")
    return url


def take(desk: Desk, world: World, image: bytes, caption: str = "") -> int:
    with desk.doing(world.technician) as deed:
        return add_photo(deed, world.visit_id, world.item_ids[0], image, caption).id


def finish(desk: Desk, world: World) -> None:
    with desk.doing(world.technician) as deed:
        for item_id in world.item_ids[1:]:
            leave_item(deed, world.visit_id, item_id, NotTested.NOT_FOUND)
        visits.finish_visit(deed, world.visit_id)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_kept_photo_holds_the_picture_and_nothing_else(kind: str) -> None:
    """No Exif, no XMP, no comment: only the JFIF header that every decoder wants (ITU-T T.871)."""
    kept = picture_from(photo(kind=kind))
    for content in (kept.content, kept.small):
        assert [name for name in jpeg_segments(content) if name.startswith(("APP", "COM"))] == ["APP0"]
        assert b"Invented camera" not in content
        assert b"54.5 N" not in content
        with Image.open(io.BytesIO(content)) as opened:
            assert (opened.format, dict(opened.getexif())) == ("JPEG", {})


def test_the_photo_that_came_had_a_position() -> None:
    """The test above says something only if there was something to strip."""
    with Image.open(io.BytesIO(photo())) as opened:
        assert opened.getexif().get_ifd(0x8825)[2] == (54.0, 30.0, 12.0)
    assert {"APP1", "COM"} <= set(jpeg_segments(photo()))


def test_a_photo_taken_on_its_side_stands_upright() -> None:
    kept = picture_from(photo(800, 600, turned=True))
    assert (kept.width, kept.height) == (800, 600)
    with Image.open(io.BytesIO(kept.content)) as opened:
        red, _, blue = opened.convert("RGB").getpixel((40, 40))  # type: ignore[misc]
        assert red > 150 > blue


def test_a_large_photo_is_made_smaller_in_its_own_shape() -> None:
    kept = picture_from(photo(4000, 3000))
    assert (kept.width, kept.height) == (SIDE, SIDE * 3 // 4)
    with Image.open(io.BytesIO(kept.small)) as opened:
        assert opened.size == (SMALL_SIDE, SMALL_SIDE * 3 // 4)


def test_what_is_see_through_comes_out_white() -> None:
    clear = io.BytesIO()
    Image.new("RGBA", (64, 64), (0, 0, 0, 0)).save(clear, "PNG")
    with Image.open(io.BytesIO(picture_from(clear.getvalue()).content)) as opened:
        assert min(opened.convert("RGB").getpixel((30, 30))) > 250  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "image",
    [
        b"no picture at all",
        b"%PDF-1.7 renamed to photo.jpg",
        photo()[:400],
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"\x89PNG\r\n\x1a\n" + b"\0" * 40,
        photo(8, 8, "PNG"),
        b"\0" * (BYTES_MOST + 1),
    ],
    ids=["text", "paper", "cut short", "drawing", "broken", "tiny", "too many bytes"],
)
def test_what_is_no_photo_is_told_so(desk: Desk, begun: World, image: bytes) -> None:
    with pytest.raises(Mistakes) as wrong:
        take(desk, begun, image)
    assert wrong.value.messages["photo"]
    with desk.reading_only() as session:
        assert list_photos_of_visit(session, begun.visit_id) == {}


def test_a_picture_of_too_many_pixels_is_not_opened(desk: Desk, begun: World) -> None:
    bomb = io.BytesIO()
    Image.new("1", (12_000, 6_000)).save(bomb, "PNG")
    with pytest.raises(Mistakes, match="million pixels"):
        take(desk, begun, bomb.getvalue())


def test_a_photo_is_kept_with_its_words_and_in_the_journal(desk: Desk, begun: World) -> None:
    photo_id = take(desk, begun, photo(), " cracked at the earth pin ")
    with desk.reading_only() as session:
        row = get_photo(session, photo_id)
        assert (row.caption, row.taken_by.name) == ("cracked at the earth pin", "Joss Alder")
        assert row.content.startswith(b"\xff\xd8\xff")
        assert "Took a photo of item 0001" in list_journal(session, "item", begun.item_ids[0])[0].sentence


def test_an_item_has_only_so_many_photos(desk: Desk, begun: World) -> None:
    for _ in range(PHOTOS_MOST):
        take(desk, begun, photo(64, 64))
    with pytest.raises(Mistakes, match="at most"):
        take(desk, begun, photo(64, 64))


def test_a_photo_is_removed_until_the_visit_is_finished(desk: Desk, begun: World) -> None:
    first, second = take(desk, begun, photo()), take(desk, begun, photo(70, 70))
    with desk.doing(begun.technician) as deed:
        remove_photo(deed, begun.visit_id, begun.item_ids[0], first)
    with desk.reading_only() as session:
        with pytest.raises(Missing):
            get_photo(session, first)
        assert "Removed a photo" in list_journal(session, "item", begun.item_ids[0])[0].sentence
    finish(desk, begun)
    with pytest.raises(Refused), desk.doing(begun.technician) as deed:
        remove_photo(deed, begun.visit_id, begun.item_ids[0], second)
    with pytest.raises(Refused):
        take(desk, begun, photo())


def test_a_photo_of_another_item_is_not_removed_here(desk: Desk, begun: World) -> None:
    photo_id = take(desk, begun, photo())
    with pytest.raises(Missing), desk.doing(begun.technician) as deed:
        remove_photo(deed, begun.visit_id, begun.item_ids[1], photo_id)


def test_a_photo_on_an_issued_certificate_outlives_its_removal(desk: Desk, begun: World) -> None:
    photo_id = take(desk, begun, photo())
    finish(desk, begun)
    issue_certificate(desk, begun.owner, begun.visit_id)
    with desk.doing(begun.owner) as deed:
        visits.reopen_visit(deed, begun.visit_id, "Photo of the wrong item")
        remove_photo(deed, begun.visit_id, begun.item_ids[0], photo_id)
    with desk.reading_only() as session:
        assert list_photos_of_visit(session, begun.visit_id) == {}
        assert list_small_pictures(session, [photo_id])[photo_id].startswith(b"\xff\xd8\xff")


def test_a_backup_holds_the_photos(desk: Desk, begun: World, tmp_path: Path, clock: Clock, empty_url: str) -> None:
    photo_id = take(desk, begun, photo())
    with desk.reading_only() as session:
        before = get_photo(session, photo_id).content
    back_up(desk.database, desk.papers_folder, tmp_path / "backup", clock.now)
    other = Database(empty_url)
    restore(other, tmp_path / "other-papers", tmp_path / "backup")
    with other.reading() as session:
        assert get_photo(session, photo_id).content == before
    other.close()
