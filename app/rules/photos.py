"""What a photo may be, how large it is kept, and how many an item may have at a visit. All of it our own bounds."""

#: The largest file that is taken, in bytes, and the most pixels in it: more than any tablet's camera makes.
BYTES_MOST = 8_000_000
PIXELS_MOST = 60_000_000
#: The longer side of a photo as it is kept, and of the small one that papers show, in pixels.
SIDE, SMALL_SIDE = 1600, 640
#: What a kept photo may weigh, in bytes.
KEPT_MOST, SMALL_MOST = 600_000, 90_000
#: Photos of one item at one visit.
PHOTOS_MOST = 6


def check_number_of_photos(number: int) -> str | None:
    """Say why an item that has so many photos gets no further one, or nothing."""
    if number < PHOTOS_MOST:
        return None
    return f"An item has at most {PHOTOS_MOST} photos at a visit. Remove one first."
