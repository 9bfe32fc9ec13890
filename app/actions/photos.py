"""Photos of what was found: taken at the visit, made anew without anything but the picture, and removed again."""

import hashlib
import io
from dataclasses import dataclass

from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from app.actions.deeds import Deed
from app.rules.photos import (
    BYTES_MOST,
    KEPT_MOST,
    PIXELS_MOST,
    SIDE,
    SMALL_MOST,
    SMALL_SIDE,
    check_number_of_photos,
)
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import VisitState
from app.store.database import Missing
from app.store.photos import PhotoRow, count_photos, get_photo
from app.store.readings import get_visit_item

NOT_A_PHOTO = "This is no photo that can be read. Take it as JPEG, PNG or WebP."
TOO_LARGE = f"This photo is larger than {BYTES_MOST // 1_000_000} MB. Let the camera take a smaller one."


@dataclass(frozen=True)
class Picture:
    """A photo made anew: two JPEG files, and the size of the larger one in pixels."""

    content: bytes
    small: bytes
    width: int
    height: int


def add_photo(deed: Deed, visit_id: int, item_id: int, image: bytes, caption: str = "") -> PhotoRow:
    """Keep a photo of an item at a visit under way. Raises Mistakes for what is not a usable photo."""
    row = get_visit_item(deed.session, visit_id, item_id)
    if row.visit.state != VisitState.UNDER_WAY:
        raise Refused("Photos are taken while the visit is under way; this one is " + row.visit.state + ".")
    if not image:
        raise Mistakes({"photo": "Take a photo, or choose one."})
    if sentence := check_number_of_photos(count_photos(deed.session, row.id)):
        raise Mistakes({"photo": sentence})
    try:
        picture = picture_from(image)
    except ValueError as problem:
        raise Mistakes({"photo": str(problem)}) from problem
    photo = PhotoRow(
        visit_item_id=row.id,
        taken_at=deed.now,
        taken_by_id=deed.doer.id,
        caption=caption.strip(),
        width=picture.width,
        height=picture.height,
        sha256=hashlib.sha256(picture.content).hexdigest(),
        content=picture.content,
        small=picture.small,
    )
    deed.session.add(photo)
    deed.session.flush()
    said = f": {photo.caption}" if photo.caption else ""
    deed.note("item", item_id, f"Took a photo of item {row.item.number}{said}. SHA-256 {photo.sha256[:16]}….")
    return photo


def remove_photo(deed: Deed, visit_id: int, item_id: int, photo_id: int) -> None:
    """Remove a photo until the visit is finished; one that an issued certificate shows is kept for that certificate."""
    row = get_visit_item(deed.session, visit_id, item_id)
    photo = get_photo(deed.session, photo_id)
    if photo.visit_item_id != row.id or photo.removed_at is not None:
        raise Missing("photo of this item")
    if row.visit.state != VisitState.UNDER_WAY:
        raise Refused("The visit is " + row.visit.state + ", so its photos stay.")
    if row.visit.reopened_at is not None and photo.taken_at <= row.visit.reopened_at:
        photo.removed_at = deed.now
    else:
        deed.session.delete(photo)
    deed.session.flush()
    deed.note("item", item_id, f"Removed a photo of item {row.item.number}, SHA-256 {photo.sha256[:16]}….")


def picture_from(image: bytes) -> Picture:
    """Make a photo anew from its pixels alone: upright, of bounded size, with no other data. Raises ValueError."""
    if len(image) > BYTES_MOST:
        raise ValueError(TOO_LARGE)
    try:
        with Image.open(io.BytesIO(image), formats=("JPEG", "PNG", "WEBP")) as opened:
            if opened.width * opened.height > PIXELS_MOST:
                raise ValueError(f"This photo has more than {PIXELS_MOST // 1_000_000} million pixels.")
            profile = opened.info.get("icc_profile")
            opened.draft("RGB", (2 * SIDE, 2 * SIDE))  # a JPEG is read at a fraction of its size: quicker, less memory
            upright = ImageOps.exif_transpose(opened)
            plain = _on_white(upright)
    except (UnidentifiedImageError, OSError, SyntaxError, EOFError, Image.DecompressionBombError) as problem:
        raise ValueError(NOT_A_PHOTO) from problem
    if min(plain.size) < 16:
        raise ValueError("This picture is too small to show anything.")
    plain.thumbnail((SIDE, SIDE))
    plain = _in_usual_colours(plain, profile)
    content = _as_jpeg(plain, KEPT_MOST)
    width, height = plain.size
    plain.thumbnail((SMALL_SIDE, SMALL_SIDE))
    return Picture(content, _as_jpeg(plain, SMALL_MOST), width, height)


def _on_white(picture: Image.Image) -> Image.Image:
    """The pixels alone, in a new picture: whatever else the file carried stays behind."""
    plain = Image.new("RGB", picture.size, "white")
    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        layer = picture.convert("RGBA")
        plain.paste(layer, mask=layer.getchannel("A"))
    else:
        plain.paste(picture.convert("RGB"))
    return plain


def _in_usual_colours(picture: Image.Image, profile: object) -> Image.Image:
    """The colours of a wider space as sRGB, for which a picture without a profile is taken everywhere."""
    if not isinstance(profile, bytes):
        return picture
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        made = ImageCms.profileToProfile(picture, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, OSError):
        return picture
    return _on_white(made) if made is not None else picture


def _as_jpeg(picture: Image.Image, most: int) -> bytes:
    for quality in (82, 70, 58, 46, 34):
        out = io.BytesIO()
        picture.save(out, "JPEG", quality=quality, optimize=True)
        if out.tell() <= most:
            break
    return out.getvalue()
