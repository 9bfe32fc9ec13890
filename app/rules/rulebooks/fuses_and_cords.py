"""Figures for plug fuses, cords, extension leads and reels, the same under every rulebook here."""

from decimal import Decimal

from app.rules.quantities import Unit
from app.rules.rulebooks.figures import Figure, Status

_TRAINING = "UK training pages on fuses"
_CODE_TABLE = "UK Code of Practice, table VII.1"
_LEADS = "trade pages on extension leads, after the UK Code of Practice"
_CABLE_MAKER = "a cable maker's notes on flexible cables"
_HOUSEHOLD = "IEC 60335-1, table of conductor sizes"


def _figure(
    key: str, value: str, unit: Unit | str, condition: str, source: str, edition: str = "",
    status: Status = Status.SEEN, note: str = "",
) -> Figure:  # fmt: skip
    return Figure(key, Decimal(value), unit, condition, source, edition, status, note)


SMALL_FUSE_MOST_W = _figure(
    "fuse.3-a.most", "700", Unit.WATT, "3 A fuse up to and including this power, 13 A above", _TRAINING,
    note="Motors may need more because of their starting current.",
)  # fmt: skip
FUSE_VOLTS = _figure(
    "fuse.volts", "240", Unit.VOLT, "at which the power that a fuse carries is counted", "UK tables of fuses",
    note="At the nominal 230 V a 13 A fuse would carry 2,990 W, less than what an ordinary 3 kW kettle takes.",
)  # fmt: skip
EARTH_TEST_FACTOR = _figure(
    "earth-test.factor", "1.5", "× fuse", "high-current earth test, for 5 to 20 s", "UK Code of Practice"
)
EARTH_TEST_MOST = _figure(
    "earth-test.most", "25", Unit.AMP, "high-current earth test, never above", "UK Code of Practice"
)

CORD_RATINGS: dict[Decimal, Figure] = {
    Decimal(csa): _figure(
        f"cord.rating.{csa}", value, Unit.AMP, f"rated current of a {csa} mm² cord", source, "", status, note
    )
    for csa, value, source, status, note in (
        ("0.5", "3", _CODE_TABLE, Status.SEEN, ""),
        ("0.75", "6", _CODE_TABLE, Status.SEEN, "10 A up to 2 m with a moulded plug."),
        ("1.0", "10", _CODE_TABLE, Status.SEEN, ""),
        ("1.25", "13", _CODE_TABLE, Status.SEEN, ""),
        ("1.5", "15", _CODE_TABLE, Status.SEEN, "16 A in BS 7671 and IEC tables."),
        ("2.5", "20", "trade lists for H05VV-F and H07RN-F", Status.SEEN, "25 A in BS 7671, table 4F3A."),
        ("4", "32", "BS 7671, table 4F3A", Status.MEMORY, ""),
    )
}  # fmt: skip
SHORT_CORD_SIZE = _figure(
    "cord.short.size", "0.75", "mm²", "may be rated 10 A with a moulded plug when short", "BS 1363, table 2, note C"
)
SHORT_CORD_LENGTH = _figure("cord.short.length", "2", "m", "the longest such cord", "BS 1363, table 2, note C")
SHORT_CORD_RATING = _figure("cord.short.rating", "10", Unit.AMP, "rating of such a cord", "BS 1363, table 2, note C")

# (figure of the smallest conductor, rated current in A up to which it holds, condition)
SMALLEST: tuple[tuple[Figure, Decimal, str], ...] = tuple(
    (
        _figure(
            f"cord.smallest.{most}-a", csa, "mm²", ", ".join(filter(None, (f"rated current up to {most} A", held))),
            _HOUSEHOLD,
        ),
        Decimal(most),
        held,
    )
    for most, csa, held in (
        ("3", "0.5", "cord length at most 2 m"), ("6", "0.75", ""), ("10", "1.0", ""), ("16", "1.5", ""),
        ("25", "2.5", ""), ("32", "4", ""), ("40", "6", ""), ("63", "10", ""),
    )
)  # fmt: skip

# (figure of a smaller conductor allowed on a short cord, the size it takes the place of)
SMALLEST_SHORT: tuple[tuple[Figure, Decimal], ...] = tuple(
    (
        _figure(
            f"cord.smallest.short.{most}-a", csa, "mm²", f"rated current up to {most} A, cord length at most 2 m",
            _HOUSEHOLD, status=Status.MEMORY,
        ),
        Decimal(usual),
    )
    for most, csa, usual in (("10", "0.75", "1.0"), ("16", "1.0", "1.5"))
)  # fmt: skip

LEAD_LENGTHS: dict[Decimal, Figure] = {
    Decimal(csa): _figure(
        f"lead.length.{csa}", length, "m", f"extension lead of {csa} mm² without an RCD, recommended", _LEADS,
        note="A recommendation; longer leads are protected by a 30 mA RCD.",
    )
    for csa, length in (("1.25", "12"), ("1.5", "15"), ("2.5", "25"))
}  # fmt: skip
LARGEST_13_A_PLUG = _figure("lead.plug.most", "1.5", "mm²", "largest cord for a plug to BS 1363", "BS 1363-1")
LARGEST_LOOP = _figure("lead.loop.most", "2.3", Unit.OHM, "loop for a 13 A fuse to BS 1362", "a trade forum's reading")

REEL_LAYERS: dict[int, Figure] = {
    layers: _figure(
        f"reel.layers.{layers}", factor, "× rating", f"ventilated cylindrical reel, {layers} layers", _CABLE_MAKER
    )
    for layers, factor in ((1, "0.85"), (2, "0.65"), (3, "0.45"), (4, "0.35"))
}  # fmt: skip
REEL_RADIAL = _figure("reel.radial.ventilated", "0.85", "× rating", "radial drum, ventilated", _CABLE_MAKER)
REEL_RADIAL_CLOSED = _figure("reel.radial.closed", "0.75", "× rating", "radial drum, not ventilated", _CABLE_MAKER)

FIGURES: tuple[Figure, ...] = (
    SMALL_FUSE_MOST_W, FUSE_VOLTS, EARTH_TEST_FACTOR, EARTH_TEST_MOST, *CORD_RATINGS.values(), SHORT_CORD_SIZE,
    SHORT_CORD_LENGTH, SHORT_CORD_RATING, *(figure for figure, _, _ in SMALLEST),
    *(figure for figure, _ in SMALLEST_SHORT), *LEAD_LENGTHS.values(), LARGEST_13_A_PLUG, LARGEST_LOOP,
    *REEL_LAYERS.values(), REEL_RADIAL, REEL_RADIAL_CLOSED,
)  # fmt: skip
