"""The plug fuse and the cord it protects: which fuse a cord and a load call for, which cord a current calls for.

Fuses to BS 1362 (ratings met in use) in plugs to BS 1363; the figures stand in rulebooks/fuses_and_cords.
"""

from dataclasses import dataclass
from decimal import Decimal

from app.rules.equipment import Cord, ItemFacts, Supply
from app.rules.quantities import describe_number, number_rounded
from app.rules.rulebooks.fuses_and_cords import (
    CORD_RATINGS,
    EARTH_TEST_FACTOR,
    EARTH_TEST_MOST,
    FUSE_VOLTS,
    SHORT_CORD_LENGTH,
    SHORT_CORD_RATING,
    SHORT_CORD_SIZE,
    SMALL_FUSE_MOST_W,
    SMALLEST,
)

SMALL_FUSE_A, LARGE_FUSE_A = Decimal(3), Decimal(13)
FUSES_A = tuple(Decimal(rating) for rating in (1, 2, 3, 5, 7, 10, 13))

_VOLTS = {
    Supply.SINGLE_230: Decimal(230),
    Supply.CENTRE_TAPPED_110: Decimal(110),
    # Three times the phase voltage, so that power over it is the current of a balanced load in each line.
    Supply.THREE_PHASE_400: Decimal(690),
}


@dataclass(frozen=True)
class FuseChoice:
    """The fuse in A, and whether a motor's inrush may call for a larger one."""

    fuse_a: Decimal
    motor_inrush: bool
    sentence: str


class FuseAnswer:
    """What check_fuse says: right, allowed with a remark, or too large for the cord."""

    RIGHT = "right"
    REMARK = "remark"
    TOO_LARGE = "too-large"


@dataclass(frozen=True)
class FuseVerdict:
    answer: str
    cord_rating_a: Decimal | None
    sentence: str


def suggest_fuse(rated_power_w: Decimal, *, motor: bool = False) -> FuseChoice:
    """Suggest the plug fuse for a rated power: 3 A up to and including 700 W, 13 A above."""
    power = describe_number(rated_power_w)
    if rated_power_w > SMALL_FUSE_MOST_W.value:
        return FuseChoice(LARGE_FUSE_A, False, f"For {power} W a 13 A fuse (above 700 W).")
    if motor:
        text = (
            f"For {power} W a 3 A fuse (up to 700 W), unless the motor's starting current needs more (see its maker)."
        )
        return FuseChoice(SMALL_FUSE_A, True, text)
    return FuseChoice(SMALL_FUSE_A, False, f"For {power} W a 3 A fuse (up to 700 W).")


def number_cord_rating(cord: Cord) -> Decimal | None:
    """Give the rated current in A of a cord by its size, None where size or rating is not known.

    A moulded plug on 0.75 mm² up to 2 m counts 10 A (BS 1363, table 2, note C).
    """
    if cord.csa_mm2 is None:
        return None
    short = cord.length_m is not None and cord.length_m <= SHORT_CORD_LENGTH.value
    if cord.csa_mm2 == SHORT_CORD_SIZE.value and short and cord.moulded_plug:
        return SHORT_CORD_RATING.value
    figure = CORD_RATINGS.get(cord.csa_mm2)
    return None if figure is None else figure.value


def check_fuse(cord: Cord, fuse_a: Decimal) -> FuseVerdict:
    """Say whether the fuse protects the cord.

    Too large on a rewirable plug is a fail; on a factory moulded plug of 0.75 or 1.0 mm² a fuse up to 13 A is allowed
    by BS 1363-1 as one test house reads it, so it is a remark only.
    """
    rating = number_cord_rating(cord)
    fuse = f"{describe_number(fuse_a)} A fuse"
    if rating is None:
        return FuseVerdict(FuseAnswer.REMARK, None, f"{fuse}: enter the cord size to see whether it protects the cord.")
    size = f"{describe_number(cord.csa_mm2 or Decimal(0))} mm²"
    rated = f"a cord of {size} rated {describe_number(rating)} A"
    if fuse_a <= rating:
        return FuseVerdict(FuseAnswer.RIGHT, rating, f"{fuse} for {rated}.")
    if fuse_a <= LARGE_FUSE_A and rating >= SHORT_CORD_RATING.value and cord.csa_mm2 == SHORT_CORD_SIZE.value:
        text = f"{fuse} for {rated}: allowed with a moulded plug up to 2 m (BS 1363, table 2)."
        return FuseVerdict(FuseAnswer.RIGHT, rating, text)
    if fuse_a <= LARGE_FUSE_A and cord.moulded_plug is not False and rating >= 6:
        text = f"{fuse} for {rated}: a factory moulded plug may carry it, a rewirable plug may not. Look at the plug."
        return FuseVerdict(FuseAnswer.REMARK, rating, text)
    text = f"{fuse} is too large for {rated}: fit a fuse of at most {describe_number(_fuse_up_to(rating))} A."
    return FuseVerdict(FuseAnswer.TOO_LARGE, rating, text)


def limit_cord_fuse(cord: Cord) -> Decimal | None:
    """Give the largest fuse in A that protects this cord, None where its size is not known or in no table."""
    if number_cord_rating(cord) is None:
        return None
    return max((fuse for fuse in FUSES_A if check_fuse(cord, fuse).answer == FuseAnswer.RIGHT), default=None)


def _fuse_up_to(rating: Decimal) -> Decimal:
    return max(fuse for fuse in FUSES_A if fuse <= rating)


def limit_fuse_power(fuse_a: Decimal, volts: Decimal = FUSE_VOLTS.value) -> Decimal:
    """Give the most power in W that a fuse carries at a voltage in V."""
    return fuse_a * volts


def number_rated_current(item: ItemFacts) -> Decimal | None:
    """Give the item's rated current in A: as marked, else from rated power and supply, None without either."""
    if item.rated_current_a is not None:
        return item.rated_current_a
    if item.rated_power_w is None:
        return None
    return number_rounded(item.rated_power_w / _VOLTS[item.supply], 4)


def suggest_cord_size(rated_current_a: Decimal) -> tuple[Decimal, str] | None:
    """Suggest the smallest conductor in mm² for a rated current, with its condition; None above 63 A."""
    return next(((figure.value, condition) for figure, most, condition in SMALLEST if rated_current_a <= most), None)


def suggest_earth_test_current(fuse_a: Decimal) -> Decimal:
    """Suggest the current in A of the high-current earth test: 1.5 × the fuse, not above 25 A, for 5 to 20 s."""
    return min(fuse_a * EARTH_TEST_FACTOR.value, EARTH_TEST_MOST.value)
