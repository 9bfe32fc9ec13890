"""What a residual current device has to do: trip times by product standard and multiple of the rated current, the
tests that make a set, and the questions beside it (a circuit's disconnection time, the trip current).
"""

from dataclasses import dataclass
from decimal import Decimal

from app.rules.equipment import Rcd
from app.rules.quantities import describe_number
from app.rules.rulebooks.figures import Status
from app.rules.rulebooks.trip_times import (
    LEAD_MOST,
    MOST,
    QUARTER_AMP,
    RAMP_LEAST,
    RAMP_MOST,
    RAMP_PULSED_LEAST,
    RAMP_PULSED_MOST,
    SELECTIVE,
    SELECTIVE_FROM_5_A,
)

HALF, ONE, TWO, FIVE = Decimal("0.5"), Decimal(1), Decimal(2), Decimal(5)

PRODUCTS = tuple(MOST)
#: In place of a product standard that nobody has noted.
ANY_PRODUCT = "product standards of RCDs"
_NO_LIMIT_MS = Decimal(10) ** 9
LEAD_MOST_MA, QUARTER_AMP_MA = LEAD_MOST.value, QUARTER_AMP.value


@dataclass(frozen=True)
class TripLimit:
    """The times in ms between which the device has to trip; both None at half current, where it must not trip.

    loosest_ms is the most that any product standard could allow, where the device's own is not known and that is more.
    """

    at_least_ms: Decimal | None
    at_most_ms: Decimal | None
    working: str
    source: str
    status: Status
    loosest_ms: Decimal | None = None


def limit_trip_time(rcd: Rcd, multiple: Decimal) -> TripLimit | None:
    """Give the limit of trip time at this multiple of the rated current.

    At half current or less both bounds are None: the device must not trip. None where the product standard has no
    figure for the multiple.
    """
    times = f"{describe_number(multiple)} × {describe_number(rcd.rated_ma)} mA"
    if multiple <= HALF:
        return TripLimit(None, None, f"{times}: must not trip", rcd.product, Status.SEEN)
    column = _column(rcd, multiple)
    if column is not None and column != multiple:
        times = f"{describe_number(QUARTER_AMP_MA)} mA in place of {describe_number(column)} × "
        times += f"{describe_number(rcd.rated_ma)} mA"
    if column is None:
        return None
    if rcd.selective and rcd.product in ("EN 61008", "EN 61009"):
        least, most = SELECTIVE[column]
        if column == FIVE and rcd.rated_ma * multiple >= 5000:
            least = SELECTIVE_FROM_5_A
        return TripLimit(least.value, most.value, f"{times}, type S", rcd.product, Status.SEEN)
    if rcd.product == ANY_PRODUCT:
        return _limit_of_any(column, times)
    figure = MOST[rcd.product].get(column)
    if figure is None:
        return None
    highest = figure.value
    if rcd.product == "BS 4293" and rcd.delay_ms:
        delay = describe_number(rcd.delay_ms)
        working = f"{times}, {describe_number(highest)} ms + 50 % to 100 % of the delay of {delay} ms"
        return TripLimit(highest + rcd.delay_ms / 2, highest + rcd.delay_ms, working, rcd.product, Status.SEEN)
    return TripLimit(None, highest, times, rcd.product, figure.status)


def _limit_of_any(column: Decimal, times: str) -> TripLimit:
    """The shortest time of all product standards, and the longest; without end where one has no figure."""
    figures = [figures.get(column) for figures in MOST.values()]
    known = sorted(figure.value for figure in figures if figure is not None)
    longest = known[-1] if len(known) == len(figures) else _NO_LIMIT_MS
    return TripLimit(
        None, known[0], f"{times}, product standard not known", ANY_PRODUCT, Status.SEEN,
        None if longest == known[0] else longest,
    )  # fmt: skip


def _column(rcd: Rcd, multiple: Decimal) -> Decimal | None:
    """The column of the table: 250 mA may stand for 5 × in devices rated 30 mA or less."""
    if multiple in (ONE, TWO, FIVE):
        return multiple
    return (
        FIVE
        if rcd.rated_ma <= LEAD_MOST_MA and abs(rcd.rated_ma * multiple - QUARTER_AMP_MA) < Decimal("0.5")
        else None
    )


def list_test_currents(rated_ma: Decimal) -> dict[Decimal, Decimal]:
    """List the test currents in mA by multiple of the rated residual current: half, 1 ×, 2 × and 5 ×."""
    return {multiple: rated_ma * multiple for multiple in (HALF, ONE, TWO, FIVE)}


def list_trip_tests(rcd: Rcd) -> tuple[tuple[Decimal, int], ...]:
    """List the tests that make the set complete, as (multiple, phase in degrees).

    5 × belongs to devices rated 30 mA or less, which give additional protection; 2 × is never asked for.
    """
    tests = [(HALF, 0), (ONE, 0), (ONE, 180)]
    if rcd.rated_ma <= LEAD_MOST_MA:
        tests += [(FIVE, 0), (FIVE, 180)]
    return tuple(tests)


def may_disconnect(trip_ms: Decimal, disconnection_s: Decimal) -> bool:
    """Say whether a trip time meets the disconnection time that a circuit requires.

    That is another question than the product standard's: 220 ms passes EN 61008 and misses 0.2 s.
    """
    return trip_ms <= disconnection_s * 1000


def may_trip_at(rated_ma: Decimal, trip_ma: Decimal, *, pulsed: bool) -> bool:
    """Say whether a ramp test's trip current is right: above half the rating on a.c., from 35 % on half-wave pulsed
    current for type A, and never above the rating (1.4 times the rating on pulsed current).
    """
    least_figure, most_figure = (RAMP_PULSED_LEAST, RAMP_PULSED_MOST) if pulsed else (RAMP_LEAST, RAMP_MOST)
    least, most = rated_ma * least_figure.value / 100, rated_ma * most_figure.value / 100
    return (least <= trip_ma if pulsed else least < trip_ma) and trip_ma <= most
