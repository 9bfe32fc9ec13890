"""Advice worked out from what an item is, beside its readings: fuse, cord, load, lead length, plug, reel, RCD.

Most of it is for a person to weigh; what the source calls a fail fails the item until it is put right.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from app.rules.checks import LEADS
from app.rules.equipment import Construction, ItemFacts, Kind, Supply
from app.rules.fuses import (
    FuseAnswer,
    check_fuse,
    limit_fuse_power,
    number_cord_rating,
    number_rated_current,
    suggest_cord_size,
    suggest_fuse,
)
from app.rules.leads import limit_lead_length, number_reel_factor
from app.rules.quantities import describe_number, number_rounded
from app.rules.rcds import LEAD_MOST_MA
from app.rules.rulebooks.fuses_and_cords import (
    LARGEST_13_A_PLUG,
    LEAD_LENGTHS,
    SHORT_CORD_LENGTH,
    SMALLEST_SHORT,
)


class Severity(StrEnum):
    NOTE = "note"
    ADVICE = "advice"
    FAIL = "fail"


@dataclass(frozen=True)
class Advice:
    """One piece of advice. code is stable; text is for the person who tests; severity fail fails the item."""

    code: str
    text: str
    severity: Severity = Severity.ADVICE


#: Advice on how it was tested or is to be judged: for who tests, not for the customer.
_FOR_TESTERS = (
    "name-competent-person", "no-high-voltage", "limit-needs-fact", "load-above-rating", "left-out",
    "energised-after-failure",
)  # fmt: skip


def may_tell_customer(advice: Advice) -> bool:
    """Say whether the customer can act on it: a lead too long, a fuse above what the cord is rated for."""
    return advice.severity is Severity.ADVICE and advice.code not in _FOR_TESTERS


def list_kept_advice(advice: Iterable[Advice]) -> list[dict[str, str]]:
    """List advice as it is kept with what was recorded."""
    return [{"code": each.code, "severity": each.severity.value, "text": each.text} for each in advice]


def parse_advice(kept: Iterable[dict[str, str] | str]) -> tuple[Advice, ...]:
    """Read advice that was kept; what was kept as a mere text is a note, since nobody knows its weight any more."""
    return tuple(
        Advice("", each, Severity.NOTE)
        if isinstance(each, str)
        else Advice(each["code"], each["text"], Severity(each["severity"]))
        for each in kept
    )


@lru_cache(maxsize=4096)
def list_advice(item: ItemFacts) -> tuple[Advice, ...]:
    """List what the item's own facts call for, before any reading: worst first."""
    found = [*_fuse(item), *_cord(item), *_lead(item), *_rcd(item)]
    order = (Severity.FAIL, Severity.ADVICE, Severity.NOTE)
    return tuple(sorted(found, key=lambda advice: order.index(advice.severity)))


def describe_unsafe(item: ItemFacts) -> str:
    """Say what fails the item as it is, before any reading; nothing where nothing does."""
    return " ".join(advice.text for advice in list_advice(item) if advice.severity is Severity.FAIL)


def _fuse(item: ItemFacts) -> list[Advice]:
    if item.fuse_a is None:
        return []
    found = []
    if item.cord is not None and item.cord.csa_mm2 is not None:
        verdict = check_fuse(item.cord, item.fuse_a)
        if verdict.answer == FuseAnswer.TOO_LARGE:
            found.append(Advice("fuse-too-large", verdict.sentence, Severity.FAIL))
        elif verdict.answer == FuseAnswer.REMARK and verdict.cord_rating_a is not None:
            found.append(Advice("fuse-too-large", verdict.sentence))
    if item.rated_power_w is None or item.kind in LEADS or item.supply is not Supply.SINGLE_230:
        return found
    power = describe_number(item.rated_power_w)
    choice = suggest_fuse(item.rated_power_w, motor=item.motor)
    most = limit_fuse_power(item.fuse_a)
    if item.rated_power_w > most:
        text = f"A {describe_number(item.fuse_a)} A fuse carries {describe_number(most)} W at 240 V; this item takes"
        larger = choice.fuse_a > item.fuse_a
        then = f"fit {describe_number(choice.fuse_a)} A" if larger else "too much for a 13 A plug"
        found.append(Advice("fuse-too-small", f"{text} {power} W: {then}."))
    elif item.fuse_a > choice.fuse_a and not any(advice.severity is Severity.FAIL for advice in found):
        found.append(Advice("fuse-larger-than-needed", choice.sentence, Severity.NOTE))
    if choice.motor_inrush and item.fuse_a <= choice.fuse_a:
        found.append(Advice("motor-inrush", choice.sentence, Severity.NOTE))
    return found


def _cord(item: ItemFacts) -> list[Advice]:
    current = number_rated_current(item)
    if item.cord is None or item.cord.csa_mm2 is None or current is None:
        return []
    rating = number_cord_rating(item.cord)
    size, shown = describe_number(item.cord.csa_mm2), describe_number(current, 1)
    smallest = suggest_cord_size(current)
    if rating is not None and current > rating and smallest is not None and smallest[0] <= item.cord.csa_mm2:
        text = (
            f"{shown} A on a cord of {size} mm²: UK tables rate it {describe_number(rating)} A, IEC 60335-1 allows it."
        )
        return [Advice("cord-ratings-differ", text, Severity.NOTE)]
    if rating is not None and current > rating:
        text = (
            f"The item takes {shown} A, the cord of {size} mm² is rated {describe_number(rating)} A: replace the cord."
        )
        return [Advice("cord-too-small", text)]
    if smallest is None or item.kind in LEADS:
        return []
    csa, condition = smallest
    short = item.cord.length_m is not None and item.cord.length_m <= SHORT_CORD_LENGTH.value
    if short and any(figure.value == item.cord.csa_mm2 and usual == csa for figure, usual in SMALLEST_SHORT):
        return []
    long_thin = bool(condition) and item.cord.csa_mm2 == csa and item.cord.length_m is not None and not short
    if item.cord.csa_mm2 < csa or long_thin:
        needed = describe_number(csa) if item.cord.csa_mm2 < csa else "0.75"
        text = (
            f"For {shown} A the product standard asks for a cord of {needed} mm² (IEC 60335-1); this one is {size} mm²."
        )
        return [Advice("cord-below-product-standard", text, Severity.NOTE)]
    return []


def _lead(item: ItemFacts) -> list[Advice]:
    if item.kind not in LEADS or item.kind is Kind.DETACHABLE_CORD:
        return []
    found = []
    if item.construction is not Construction.CLASS_I and item.supply is Supply.SINGLE_230:
        text = "An extension lead without a protective conductor is withdrawn from use."
        found.append(Advice("lead-without-earth", text, Severity.FAIL))
    cord = item.cord
    if cord is None or cord.csa_mm2 is None:
        return found
    size = describe_number(cord.csa_mm2)
    longest = limit_lead_length(cord.csa_mm2)
    if cord.csa_mm2 < min(LEAD_LENGTHS):
        smallest = describe_number(min(LEAD_LENGTHS))
        text = f"An extension lead of {size} mm²: the recommended lengths begin at {smallest} mm², so none is given."
        found.append(Advice("lead-size-not-recommended", text))
    if longest is not None and cord.length_m is not None and cord.length_m > longest:
        text = f"{describe_number(cord.length_m)} m of {size} mm²: at most {describe_number(longest)} m is recommended"
        if item.rcd is not None and item.rcd.rated_ma <= LEAD_MOST_MA:
            found.append(Advice("lead-long-with-rcd", f"{text} without an RCD; this lead has one.", Severity.NOTE))
        else:
            found.append(Advice("lead-too-long", f"{text}. Shorten it, or protect it by an RCD of 30 mA."))
    if cord.csa_mm2 > LARGEST_13_A_PLUG.value and item.fuse_a is not None and item.supply is Supply.SINGLE_230:
        text = f"{size} mm² is too thick for a 13 A plug: use plug and coupler to BS EN 60309."
        found.append(Advice("lead-plug-unsuitable", text))
    return found + _reel(item)


def _reel(item: ItemFacts) -> list[Advice]:
    if item.reel is None or item.cord is None:
        return []
    rating = number_cord_rating(item.cord)
    factor = number_reel_factor(item.reel)
    if factor is None or rating is None:
        text = "No published factor for this reel: unwind the lead fully before use."
        return [Advice("reel-unwind", text)]
    derated = number_rounded(rating * factor, 2)
    text = (
        f"Wound up it carries {describe_number(rating)} A × {factor} = {describe_number(derated)} A: unwind for more."
    )
    found = [Advice("reel-derated", text, Severity.NOTE)]
    if item.fuse_a is not None and item.fuse_a > derated:
        text = f"The {describe_number(item.fuse_a)} A fuse lets more through than the wound lead's"
        text += f" {describe_number(derated)} A. Mark it: unwind fully before use."
        found.append(Advice("reel-fuse", text))
    return found


def _rcd(item: ItemFacts) -> list[Advice]:
    if item.rcd is None or item.rcd.rated_ma <= LEAD_MOST_MA:
        return []
    rated = describe_number(item.rcd.rated_ma)
    text = f"An RCD in a lead is at most 30 mA for additional protection; this one is {rated} mA."
    return [Advice("rcd-above-30-ma", text)]
