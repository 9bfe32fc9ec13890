"""The certificate of a calibration as a file: a PDF kept as it came, or a picture encoded anew."""

import io

from PIL import Image, ImageOps, UnidentifiedImageError

FILE_BYTES_MOST = 5_000_000
PIXELS_MOST = 60_000_000
SIDE_MOST = 3000
PDF = "application/pdf"


def certificate_file_from(content: bytes) -> tuple[str, bytes]:
    """Give media type and content to keep, by what the file is and not by its name.

    A PDF stays as it is; a PNG or JPEG picture is encoded anew, so that nothing but the picture is kept. Raises
    ValueError with a sentence for anything else, and for what is too large.
    """
    if len(content) > FILE_BYTES_MOST:
        raise ValueError(f"The file is larger than {FILE_BYTES_MOST // 1_000_000} MB. Make it smaller first.")
    if content.startswith(b"%PDF-"):
        if b"%%EOF" not in content[-2048:]:
            raise ValueError("The PDF is not whole: its end is missing. Fetch it again.")
        return PDF, content
    try:
        with Image.open(io.BytesIO(content), formats=("PNG", "JPEG")) as picture:
            if picture.width * picture.height > PIXELS_MOST:
                raise ValueError(f"The picture has more than {PIXELS_MOST // 1_000_000} million pixels.")
            kind = "PNG" if picture.format == "PNG" else "JPEG"
            plain = ImageOps.exif_transpose(picture).convert("RGB")
    except (UnidentifiedImageError, OSError, SyntaxError, Image.DecompressionBombError) as problem:
        raise ValueError("The file must be a PDF, or a PNG or JPEG picture.") from problem
    plain.thumbnail((SIDE_MOST, SIDE_MOST))
    # A new picture from the points alone: what the old one carried beside them does not come along.
    bare = Image.frombytes("RGB", plain.size, plain.tobytes())
    out = io.BytesIO()
    bare.save(out, kind, optimize=True, **({"quality": 88} if kind == "JPEG" else {}))
    return f"image/{kind.lower()}", out.getvalue()
