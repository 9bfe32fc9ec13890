"""How wide words are in our typeface, so that what stands on a label can be made to fit before it is drawn."""

from functools import cache
from pathlib import Path

from fontTools.ttLib import TTFont

_FONTS = Path(__file__).resolve().parents[2] / "static" / "fonts"
_FACES = {False: "Inter-Regular.woff2", True: "Inter-SemiBold.woff2"}
#: A character that another font must supply is taken as wide as the widest of ours.
_UNKNOWN = 1.3


@cache
def _advances(bold: bool) -> dict[str, float]:
    """Each character's width in parts of the type size."""
    with TTFont(_FONTS / _FACES[bold]) as font:
        units, widths = font["head"].unitsPerEm, font["hmtx"]
        return {chr(code): widths[glyph][0] / units for code, glyph in font.getBestCmap().items()}


def width_from(text: str, bold: bool = False) -> float:
    """Give the width of a line in parts of its type size. Kerning is left out; it makes lines narrower, if anything."""
    advances = _advances(bold)
    return sum(advances.get(letter, _UNKNOWN) for letter in text)


def cut_from(text: str, most: float, bold: bool = False) -> str:
    """Give the text, or as much of its beginning as fits with an ellipsis; nothing where not even three letters do."""
    if width_from(text, bold) <= most:
        return text
    for end in range(len(text) - 1, 2, -1):
        shorter = text[:end].rstrip(" ,.;-") + "…"
        if width_from(shorter, bold) <= most:
            return shorter
    return ""
