"""Which items may be among recalled products: by make, model, batch and serial number, with tolerance for spelling.

Letters may be misspelt; the digits of a model are what tells it from its neighbours, so they have to agree. A score
says how well the words agree, not how likely it is: a person looks at the item. Our own steps.
"""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from rapidfuzz import fuzz

from app.rules.recalls import Notice

#: At least so well, of 100, for a make and for a model; and in all, for a proposal.
MAKE_LEAST, MODEL_LEAST, SCORE_LEAST = 78, 80, 60
#: What make, model and the word for the product weigh, of 100; without a model the product's word weighs more.
MAKE_WEIGHS, MODEL_WEIGHS = 40, 60
#: Shorter serial numbers are alike by chance.
SERIAL_LEAST = 4
#: At least so well, of 100, for a number that may have been misread.
SERIAL_LIKE = 80
#: At least so well, of 100, for two words for one product.
SAME_WORD = 70


@dataclass(frozen=True)
class Candidate:
    """An item as matching sees it."""

    make: str = ""
    model: str = ""
    batch: str = ""
    serial: str = ""
    description: str = ""


@dataclass(frozen=True)
class Match:
    """score is from 0 to 100; reasons are for a person to check."""

    score: int
    reasons: tuple[str, ...]


def list_matches(
    notices: Sequence[tuple[int, Notice]], items: Sequence[tuple[int, Candidate]]
) -> list[tuple[int, int, Match]]:
    """List every (notice, item) that is worth a look. Items of one make and model are compared together."""
    by_make: dict[str, dict[str, list[tuple[int, Candidate]]]] = defaultdict(lambda: defaultdict(list))
    for item_id, item in items:
        by_make[_plain(item.make)][_tight(item.model)].append((item_id, item))
    found = []
    makes_like: dict[str, list[str]] = {}
    for notice_id, notice in notices:
        named = bool(notice.serial or notice.batch)
        wanted = _plain(notice.make)
        if wanted not in makes_like:
            near = (make for make in by_make if make and number_make_likeness(wanted, make) >= MAKE_LEAST)
            makes_like[wanted] = list(near if wanted else (make for make in by_make if make))
        for make in (*makes_like[wanted], ""):
            if not make and not (named or notice.model):
                continue
            for model, alike in by_make.get(make, {}).items():
                if notice.model and model and not named and not number_model_likeness(notice.model, model):
                    continue
                for item_id, item in alike:
                    if match := judge_match(notice, item):
                        found.append((notice_id, item_id, match))
    return found


def judge_match(notice: Notice, item: Candidate) -> Match | None:
    """Say how well an item agrees with a notice, with the reasons, or nothing where it is not worth a look."""
    reasons: list[str] = []
    score = 0
    if notice.make and item.make:
        make = number_make_likeness(notice.make, item.make)
        if make < MAKE_LEAST:
            return None
        reasons.append(_compared("make", item.make, notice.make, make))
        score += MAKE_WEIGHS * make // 100
    elif notice.make:
        reasons.append("the make is not on record")
    if notice.model and item.model:
        model = number_model_likeness(notice.model, item.model)
        if not model:
            return None
        reasons.append(_compared("model", item.model, notice.model, model))
        score += MODEL_WEIGHS * model // 100
        score -= _another_product(notice, item, reasons)
    elif notice.model:
        reasons.append("the model is not on record: look at the rating plate")
        score += _product_score(notice, item, 20, reasons)
    else:
        score += _product_score(notice, item, 35, reasons)
    for word, listed, own in (("serial number", notice.serial, item.serial), ("batch", notice.batch, item.batch)):
        if not listed:
            continue
        if not own:
            reasons.append(f"the {word} is not on record, and only some are recalled: look at the item")
            score -= 5
        elif (named := check_listed(listed, own)) is not None:
            reasons.append(f"{word} {own} is among those named ({named})")
            least = 55 if item.make else 45
            score = min(100, max(score, least) + 40) if len(_tight(own)) >= SERIAL_LEAST else min(100, score + 10)
        elif (like := suggest_listed(listed, own)) is not None:
            reasons.append(f"{word} {own} is not among those named, but {like} is: read it again")
            score -= 10
        else:
            reasons.append(f"{word} {own} is not among those named")
            score -= 45
    return Match(score, tuple(reasons)) if score >= SCORE_LEAST else None


@lru_cache(maxsize=50_000)
def number_make_likeness(one: str, other: str) -> int:
    """Give how alike two makes are, from 0 to 100; what a firm adds to its name does not count."""
    one, other = _plain(one), _plain(other)
    if not one or not other:
        return 0
    if min(len(one), len(other)) < 4:
        return 100 if one == other else 0
    return round(max(fuzz.ratio(one, other), fuzz.token_set_ratio(one, other)))


@lru_cache(maxsize=50_000)
def number_model_likeness(listed: str, own: str) -> int:
    """Give how alike a model is to the best of those that a notice lists, from 0 to 100; 0 below what counts."""
    mine = _tight(own)
    best = 0
    for each in re.split(r"[,;/\n]| and | or ", listed):
        theirs = _tight(each)
        if not theirs or not mine:
            continue
        if re.findall(r"\d+", theirs) != re.findall(r"\d+", mine):
            continue
        best = max(best, round(fuzz.ratio(theirs, mine)))
    return best if best >= MODEL_LEAST else 0


def check_listed(listed: str, own: str) -> str | None:
    """The part of a list of numbers and ranges that a number falls in, or nothing."""
    mine = _tight(own)
    for each in re.split(r"[,;\n]| and ", listed):
        part = each.strip()
        if not part:
            continue
        if _tight(part) == mine:
            return part
        ends = re.fullmatch(r"([A-Za-z]*)\s*(\d+)\s*(?:-|–|to)\s*([A-Za-z]*)\s*(\d+)", part, re.I)
        number = re.fullmatch(r"([A-Z]*)(\d+)", mine)
        if not ends or not number:
            continue
        same = ends[1].upper() == number[1] and ends[3].upper() in ("", ends[1].upper())
        # As many digits, so that 12 is not taken to lie between 10000 and 20000, nor the other way round.
        if same and len(ends[2]) == len(number[2]) and int(ends[2]) <= int(number[2]) <= int(ends[4]):
            return part
    return None


def suggest_listed(listed: str, own: str) -> str | None:
    """The number of a list that one may have been meant for, a letter or two apart, or nothing."""
    mine = _tight(own)
    parts = [part.strip() for part in re.split(r"[,;\n]| and ", listed)]
    known = [part for part in parts if len(_tight(part)) >= SERIAL_LEAST]
    best = max(known, key=lambda part: fuzz.ratio(_tight(part), mine), default="")
    return best if best and fuzz.ratio(_tight(best), mine) >= SERIAL_LIKE else None


def _product_score(notice: Notice, item: Candidate, most: int, reasons: list[str]) -> int:
    """What the word for the product adds."""
    product, own = _plain(notice.product), _plain(item.description)
    if not product or not own:
        return 0
    alike = round(fuzz.token_set_ratio(product, own))
    if alike < MODEL_LEAST:
        return 0
    reasons.append(f"it is called “{item.description}”, the notice says “{notice.product}”")
    return most * alike // 100


def _another_product(notice: Notice, item: Candidate, reasons: list[str]) -> int:
    """What is taken off where make and model agree but the word for the product is another."""
    product, own = _plain(notice.product), _plain(item.description)
    if not product or not own or fuzz.partial_token_set_ratio(product, own) >= SAME_WORD:
        return 0
    reasons.append(f"it is called “{item.description}”, the notice says “{notice.product}”")
    return 15


def _compared(word: str, own: str, listed: str, likeness: int) -> str:
    if likeness == 100:
        return f"{word} {own} is the same"
    return f"{word} “{own}” is like “{listed}” ({likeness} of 100)"


@lru_cache(maxsize=50_000)
def _plain(text: str) -> str:
    """Small letters without accents and marks, one space between words."""
    split = unicodedata.normalize("NFKD", text.casefold())
    return " ".join(
        re.sub(r"[^a-z0-9]+", " ", "".join(each for each in split if not unicodedata.combining(each))).split()
    )


@lru_cache(maxsize=50_000)
def _tight(text: str) -> str:
    """Capitals and digits alone."""
    return _plain(text).replace(" ", "").upper()
