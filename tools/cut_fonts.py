"""Cuts the full Inter files down to the characters that Ohmstead sets, for screen and paper alike.

Run it with the project's Python after `npm pack inter-ui@4.1.1` and unpacking the archive:
`.venv/bin/python tools/cut_fonts.py UNPACKED/package`. It writes the files in static/fonts, licence included.
The ready-made "latin" cuts lack Ω, ≤ and ≥, so they will not do for readings and limits.
"""

import shutil
import sys
from pathlib import Path

from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

WEIGHTS = ("Regular", "Medium", "SemiBold", "Bold")
TARGET = Path(__file__).resolve().parent.parent / "static" / "fonts"

# Names of people and places: Western and Central European, Welsh, Romanian, Turkish, Baltic, Vietnamese, Greek, and
# the Cyrillic of Europe.
NAMES = (
    (0x0020, 0x007E),  # Basic Latin
    (0x00A0, 0x017F),  # Latin-1 and Latin Extended-A
    (0x0192, 0x0192),  # ƒ
    (0x01A0, 0x01A1),  # Ơ ơ
    (0x01AF, 0x01B0),  # Ư ư
    (0x01CD, 0x01DC),  # Ǎ to ǜ
    (0x01FA, 0x01FF),  # Ǻ to ǿ
    (0x0218, 0x021B),  # Ș ș Ț ț
    (0x02C6, 0x02C7),  # ˆ ˇ
    (0x02D8, 0x02DD),  # ˘ to ˝
    (0x0300, 0x0304),  # combining accents, for text that was typed decomposed
    (0x0306, 0x030C),
    (0x031B, 0x031B),
    (0x0323, 0x0323),
    (0x0326, 0x0328),
    (0x0386, 0x03CE),  # Greek with its accents
    (0x0400, 0x045F),  # Cyrillic
    (0x0490, 0x0491),  # Ґ ґ
    (0x1E80, 0x1E85),  # Welsh Ẁ Ẃ Ẅ
    (0x1E9E, 0x1E9E),  # ẞ
    (0x1EA0, 0x1EF9),  # Vietnamese, and Welsh Ỳ ỳ
)
# Units, signs and marks of the trade, and typography. ∠ is not in Inter at all.
SIGNS = (
    "ΔΩµμπφ\u2126\u2206"
    "≤≥≈≠±×÷−√∞∑²³¹⁰⁴⁵⁶⁷⁸⁹₀₁₂₃₄₅₆₇₈₉°′″½¼¾⅓⅔⅛"
    "–—…•·‘’‚“”„‹›«»†‡§¶©®™№‰⁄"
    "\u2002\u2003\u2007\u2009\u200a\u200b\u2010\u2011\u2012\u202f\u2060"
    "£€✓✗→←↑↓↗↘↔○●□■◆◇△▲▼▽⚠"
)
# calt is left out on purpose: it would redraw what a person typed, such as "3x" or "->".
FEATURES = ("kern", "mark", "mkmk", "ccmp", "locl", "tnum", "case", "zero")
DIGITS = {"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"}


def keep_tabular_digits_only(font: TTFont) -> None:
    """Leave only the ten digits in the tabular feature.

    Inter widens spaces, hyphens and points there too. Pages set all their text with tabular figures; columns of
    decimals stand in line without those, and running words would come out loose.
    """
    table = font["GSUB"].table
    for record in table.FeatureList.FeatureRecord:
        for index in record.Feature.LookupListIndex if record.FeatureTag == "tnum" else ():
            for subtable in table.LookupList.Lookup[index].SubTable:
                subtable = getattr(subtable, "ExtSubTable", subtable)
                subtable.mapping = {k: v for k, v in subtable.mapping.items() if k in DIGITS}


def cut_font(source: Path, target: Path) -> list[str]:
    """Write the cut of `source` to `target`; answer the wanted characters that the source does not have."""
    wanted = {point for first, last in NAMES for point in range(first, last + 1)} | set(map(ord, SIGNS))
    font = TTFont(source, recalcTimestamp=False)
    keep_tabular_digits_only(font)
    missing = [chr(point) for point in sorted(wanted) if point not in font.getBestCmap()]
    options = Options(
        layout_features=list(FEATURES),
        layout_scripts=["DFLT", "latn", "grek"],
        hinting=False,
        desubroutinize=True,
        notdef_outline=True,
        name_IDs=[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 13, 14],
        flavor="woff2",
    )
    cutter = Subsetter(options)
    cutter.populate(unicodes=wanted)
    cutter.subset(font)
    font.flavor = "woff2"
    font.save(target)
    return missing


def main(package: Path) -> None:
    """Cut every weight from the unpacked package and put the licence beside the files."""
    TARGET.mkdir(parents=True, exist_ok=True)
    for weight in WEIGHTS:
        target = TARGET / f"Inter-{weight}.woff2"
        missing = cut_font(package / "web" / f"Inter-{weight}.woff2", target)
        print(f"{target.name}: {target.stat().st_size:,} bytes; not in the source: {missing or 'nothing'}")
    shutil.copyfile(package / "LICENSE.txt", TARGET / "OFL.txt")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
