"""Code 128 as bars: which modules of a line are dark, by python-barcode."""

from barcode.codex import Code128


def bars_from(text: str) -> list[tuple[int, int]]:
    """Give the dark bars as (first module, width in modules), without the quiet zones. Printable ASCII only."""
    modules = Code128(text).build()[0]
    found, place = [], 0
    while place < len(modules):
        if modules[place] == "0":
            place += 1
            continue
        end = len(modules) if "0" not in modules[place:] else modules.index("0", place)
        found.append((place, end - place))
        place = end
    return found


def bars_length_from(text: str) -> int:
    """Give the length of the bars in modules, without the quiet zones."""
    first, width = bars_from(text)[-1]
    return first + width
