"""United Kingdom VAT numbers: how they are written, and their check digits. Neither proves a registration."""

import re

_STANDARD = re.compile(r"(?:GB|XI)?(\d{9}|\d{12})\Z")
_PUBLIC_BODY = re.compile(r"(?:GB|XI)?(GD|HA)(\d{3})\Z")


def number_vat_printed(text: str) -> str:
    """Number as printed on papers ("GB 999 9999 73"), or empty text when it has no United Kingdom form.

    Nine digits, twelve with a branch, GD or HA with three digits; XI for Northern Ireland trade in goods.
    Its check digits are judged by check_vat_number.
    """
    tight = re.sub(r"[\s.\-]", "", text).upper()
    prefix = "XI" if tight.startswith("XI") else "GB"
    if found := _STANDARD.match(tight):
        digits = found.group(1)
        groups = [digits[:3], digits[3:7], digits[7:9], digits[9:]]
        return " ".join([prefix, *[group for group in groups if group]])
    if found := _PUBLIC_BODY.match(tight):
        return f"{prefix} {found.group(1)}{found.group(2)}"
    return ""


def check_vat_number(text: str) -> bool:
    """Say whether a number has the United Kingdom form and check digits that fit.

    The first seven digits, weighted 8 to 2, and the two check digits together leave 0 when divided by 97; numbers from
    1000000 on may leave 42 instead, the newer series (from memory; the tests compare with a library that knows both).
    GD is followed by less than 500, HA by 500 or more.
    """
    tight = re.sub(r"[\s.\-]", "", text).upper()
    if found := _PUBLIC_BODY.match(tight):
        return (found.group(1) == "GD") == (int(found.group(2)) < 500)
    found = _STANDARD.match(tight)
    if found is None:
        return False
    digits = found.group(1)[:9]
    weighted = sum(weight * int(digit) for weight, digit in zip(range(8, 1, -1), digits[:7], strict=True))
    left = (weighted + int(digits[7:])) % 97
    return left == 0 or (left in (42, 55) and int(digits[:7]) >= 1_000_000)
