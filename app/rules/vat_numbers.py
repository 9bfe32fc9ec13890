"""United Kingdom VAT numbers: how they are written. A well-formed number does not prove a registration."""

import re

_STANDARD = re.compile(r"(?:GB|XI)?(\d{9}|\d{12})\Z")
_PUBLIC_BODY = re.compile(r"(?:GB|XI)?(GD|HA)(\d{3})\Z")


def number_vat_printed(text: str) -> str:
    """Number as printed on papers ("GB 999 9999 73"), or empty text when it has no United Kingdom form.

    Nine digits, twelve with a branch, GD or HA with three digits; XI for Northern Ireland trade in goods.
    Check digits are not judged here: numbers given out in the past follow two schemes (from memory).
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
