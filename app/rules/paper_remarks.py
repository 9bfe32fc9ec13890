"""What a certificate says of how its results were reached, beside the readings: house limits that decided, how
protective conductors were measured, and which check stood in for another.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal

from app.rules.checks import Check, Step, describe_stand_in
from app.rules.entries import CheckVerdict
from app.rules.equipment import Construction
from app.rules.fallbacks import DECIDING
from app.rules.locks import list_stand_ins
from app.rules.quantities import Unit, convert_number, describe_number
from app.rules.rulebooks import HouseLimit
from app.rules.verdicts import Outcome


def has_house_limit(working: str) -> bool:
    """Say whether a limit came about by a house limit, by the words with which its working begins (see limits)."""
    return working.startswith("house limit")


def has_house_bound(own: HouseLimit, check: str, value: Decimal | None, unit: Unit, working: str) -> bool:
    """Say whether this house limit is the bound that a reading was judged by."""
    if value is None or own.check != check or own.unit.dimension != unit.dimension or not has_house_limit(working):
        return False
    since = date.fromisoformat(own.since) if own.since else None
    dated = since is None or own.since in working or f"{since.day} {since:%b %Y}" in working
    return convert_number(own.value, own.unit, unit) == value and dated


def describe_house_limit(own: HouseLimit) -> str:
    """Say a house limit in a sentence: "Insulation resistance at least 5 MΩ since 4 Mar 2026: damp cellar."."""
    check, of = Check(own.check).word, f" of {Construction(own.construction).word}" if own.construction else ""
    since = date.fromisoformat(own.since) if own.since else None
    day = f" since {since.day} {since:%b %Y}" if since else ""
    bound = "at least" if own.at_least else "at most"
    reason = f": {own.reason.rstrip('.')}" if own.reason else ""
    return f"{check[0].upper()}{check[1:]}{of} {bound} {describe_number(own.value)} {own.unit.symbol}{day}{reason}."


def describe_conductor_method(
    leads: Sequence[Decimal | None], temperatures: Sequence[Decimal | None], both_ways: bool
) -> str:
    """Say how protective conductors were measured. leads: the test lead in Ω that was subtracted from each reading,
    None where nothing was; temperatures: of the cords in °C, None where none was noted.
    """
    known = sorted({lead for lead in leads if lead is not None})
    values = " or ".join(describe_number(lead) for lead in known)
    said = ["test lead nulled by the instrument"]
    if known:
        some = " some of" if any(lead is None for lead in leads) else ""
        said = [f"test lead of {values} Ω subtracted from{some} the readings"]
    if both_ways:
        said.append("measured with d.c. both ways round")
    if warm := sorted({each for each in temperatures if each is not None}):
        said.append(f"cords at {' and '.join(describe_number(each) for each in warm)} °C")
    return f"Protective conductors: {'; '.join(said)}."


def describe_fallback(check: Check) -> str:
    """Say why a reading beyond its limit passes conditionally: in heating, another check decides (see fallbacks)."""
    name = f"{check.word[0].upper()}{check.word[1:]}"
    return (
        f"{name} beyond its limit: a conditional pass by the {DECIDING.word}, which decides for heating of this power."
    )


def list_stand_in_words(
    steps: tuple[Step, ...], outcomes: Mapping[Check, Outcome], notes: Mapping[Check, str]
) -> tuple[str, ...]:
    """Say which check stands in for which and why: the reason typed at either, else under which condition it may."""
    judged = {check: CheckVerdict(check, outcome, None, "", "", None, "") for check, outcome in outcomes.items()}
    said = []
    for check, other in list_stand_ins(steps, judged).items():
        why = (notes.get(check) or notes.get(other.check) or "").rstrip(".")
        told = f": {why}" if why else f", as it may {describe_stand_in(other, check)}"
        said.append(f"{other.check.word[0].upper()}{other.check.word[1:]} in place of {check.word}{told}.")
    return tuple(said)
