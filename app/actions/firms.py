"""Setting up the firm once, and changing its details and logo."""

import io
from collections.abc import Mapping

from PIL import Image, UnidentifiedImageError

from app.actions.deeds import Deed, check_version, columns_of, fill
from app.actions.people import add_person
from app.rules.decisions import DecisionRule
from app.rules.firms import FirmDetails, check_firm
from app.rules.people import Person, PersonDetails
from app.rules.rulebooks import RULEBOOKS, rulebook_named
from app.rules.verdicts import Mistakes, Refused
from app.store.firms import FirmRow, find_firm, get_firm
from app.store.people import get_person

LOGO_BYTES_MOST = 4_000_000
LOGO_PIXELS_MOST = 40_000_000
LOGO_SIDE = 800


def set_up_firm(deed: Deed, firm: FirmDetails, owner: PersonDetails, password: str, logo: bytes = b"") -> Person:
    """Create the firm and its owner, once. Raises Mistakes; firm fields and owner fields have different names."""
    if find_firm(deed.session) is not None:
        raise Refused("The firm is set up already. Sign in.")
    mistakes = check_firm(firm)
    png = None
    try:
        png = logo_from(logo) if logo else None
    except ValueError as problem:
        mistakes["logo"] = str(problem)
    try:
        person = add_person(deed, owner, password)
    except Mistakes as wrong:
        # The owner's fields carry a prefix on the set-up page, where the firm has a name and an e-mail too.
        mistakes |= {f"owner_{name}": message for name, message in wrong.messages.items()}
        raise Mistakes(mistakes) from wrong
    if mistakes:
        raise Mistakes(mistakes)
    deed.session.add(FirmRow(id=1, **columns_of(firm), logo_png=png))
    deed.session.flush()
    deed.note("firm", 1, f"Set up {firm.name}.")
    return person


def choose_rulebook_settings(deed: Deed, rulebook_id: str, chosen: Mapping[str, str], version: int | None) -> FirmRow:
    """Choose how a rulebook is read where its sources leave a choice, for visits not yet started. Raises Mistakes."""
    row = get_firm(deed.session)
    check_version(row, version, "the settings")
    rulebook = rulebook_named(rulebook_id)
    for key, value in chosen.items():
        try:
            rulebook = rulebook.with_setting(key, value)
        except ValueError as problem:
            raise Mistakes({key: str(problem)}) from problem
    row.rulebook_settings = (row.rulebook_settings or {}) | {rulebook_id: dict(chosen)}
    said = "; ".join(setting.chosen for setting in rulebook.settings)
    deed.note("firm", 1, f"Chose how {rulebook.title} is read: {said}.")
    return row


def choose_judging(
    deed: Deed, rulebook_id: str, rule: DecisionRule, dielectric_by_id: int | None, version: int | None = None
) -> None:
    """Choose what visits not yet started are judged by: rulebook, decision rule, and who may do the dielectric strength
    test (None: nobody). A customer's own rulebook and decision rule stay. Raises Mistakes.
    """
    row = get_firm(deed.session)
    check_version(row, version, "the settings")
    mistakes = {} if rulebook_id in RULEBOOKS else {"rulebook_id": "Choose one of these."}
    mistakes |= _check_competent(deed, row, dielectric_by_id)
    if mistakes:
        raise Mistakes(mistakes)
    row.rulebook_id, row.decision_rule, row.dielectric_by_id = rulebook_id, rule.value, dielectric_by_id
    person = get_person(deed.session, dielectric_by_id).name if dielectric_by_id else "nobody"
    said = f"{RULEBOOKS[rulebook_id].title}; {rule.word}; dielectric strength by {person}"
    deed.note("firm", 1, f"Chose what visits are judged by: {said}.")


def _check_competent(deed: Deed, row: FirmRow, person_id: int | None) -> dict[str, str]:
    if person_id and person_id != row.dielectric_by_id and not get_person(deed.session, person_id).active:
        return {"dielectric_by_id": "Choose somebody who works here."}
    return {}


def change_firm(deed: Deed, details: FirmDetails, version: int | None = None) -> None:
    """Change the firm's details. Papers already issued keep what they say. Raises Mistakes."""
    row = get_firm(deed.session)
    check_version(row, version, "the settings")
    mistakes = check_firm(details)
    mistakes |= _check_competent(deed, row, details.dielectric_by_id)
    if mistakes:
        raise Mistakes(mistakes)
    fill(row, details)
    deed.note("firm", 1, "Changed the firm's details.")


def change_logo(deed: Deed, image: bytes | None) -> None:
    """Set the logo, or remove it with None. Raises Mistakes for what is not a usable picture."""
    row = get_firm(deed.session)
    try:
        row.logo_png = logo_from(image) if image else None
    except ValueError as problem:
        raise Mistakes({"logo": str(problem)}) from problem
    deed.note("firm", 1, "Changed the logo." if image else "Removed the logo.")


def logo_from(image: bytes) -> bytes:
    """Re-encode a PNG or JPEG as a plain PNG of at most 800 pixels a side. Raises ValueError with a sentence."""
    if len(image) > LOGO_BYTES_MOST:
        raise ValueError("The logo is larger than 4 MB. Make it smaller first.")
    try:
        with Image.open(io.BytesIO(image), formats=("PNG", "JPEG")) as picture:
            if picture.width * picture.height > LOGO_PIXELS_MOST:
                raise ValueError("The logo has more than 40 million pixels. Make it smaller first.")
            plain = picture.convert("RGBA")
    except (UnidentifiedImageError, OSError, SyntaxError, Image.DecompressionBombError) as problem:
        raise ValueError("The logo must be a PNG or JPEG picture.") from problem
    plain.thumbnail((LOGO_SIDE, LOGO_SIDE))
    out = io.BytesIO()
    plain.save(out, "PNG", optimize=True)
    return out.getvalue()
