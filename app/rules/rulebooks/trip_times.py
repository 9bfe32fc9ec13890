"""Trip times of residual current devices by product standard: the longest, and for type S the shortest too.

EN 61008 and EN 61009 from makers' tables of break times; BS 4293 and BS 7288 from trade articles; BS 7071 and
IEC 61540 from memory. And the trip currents of a ramp test.
"""

from decimal import Decimal

from app.rules.quantities import Unit
from app.rules.rulebooks.figures import Figure, Status

_MAKERS = "switchgear makers' break time tables"
_ARTICLES = "trade articles on testing RCDs"


def _most(product: str, multiple: str, value: str, via: str, status: Status = Status.SEEN) -> Figure:
    return Figure(
        f"rcd.{product}.{multiple}", Decimal(value), Unit.MILLISECOND, f"{product}, at {multiple} ×, at most",
        product, "" if status is Status.MEMORY else f"as in {via}", status,
    )  # fmt: skip


def _selective(multiple: str, end: str, value: str, note: str = "") -> Figure:
    word = "at least" if end == "least" else "at most"
    return Figure(
        f"rcd.type-s.{multiple}.{end}", Decimal(value), Unit.MILLISECOND,
        f"EN 61008 and EN 61009 type S, at {multiple} ×, {word}", "EN 61008", f"as in {_MAKERS}", Status.SEEN, note,
    )  # fmt: skip


def _by_multiple(product: str, values: dict[str, str], via: str, status: Status = Status.SEEN) -> dict[Decimal, Figure]:
    return {Decimal(multiple): _most(product, multiple, value, via, status) for multiple, value in values.items()}


MOST: dict[str, dict[Decimal, Figure]] = {
    "EN 61008": _by_multiple("EN 61008", {"1": "300", "2": "150", "5": "40"}, _MAKERS),
    "EN 61009": _by_multiple("EN 61009", {"1": "300", "2": "150", "5": "40"}, _MAKERS),
    "BS 7288": _by_multiple("BS 7288", {"1": "200", "5": "40"}, _ARTICLES),
    "BS 4293": _by_multiple("BS 4293", {"1": "200", "5": "40"}, _ARTICLES),
    "BS 7071": _by_multiple("BS 7071", {"1": "200", "5": "40"}, "", Status.MEMORY),
    "IEC 61540": _by_multiple("IEC 61540", {"1": "300", "2": "150", "5": "40"}, "", Status.MEMORY),
}

SELECTIVE: dict[Decimal, tuple[Figure, Figure]] = {
    Decimal(multiple): (_selective(multiple, "least", least), _selective(multiple, "most", most))
    for multiple, least, most in (("1", "130", "500"), ("2", "60", "200"), ("5", "50", "150"))
}
SELECTIVE_FROM_5_A = _selective("5", "least-from-5-a", "40", "Where the test current is 5 A or more.")

LEAD_MOST = Figure(
    "rcd.lead.most", Decimal(30), Unit.MILLIAMP, "rated residual current of an RCD in a lead, at most",
    "trade pages on extension leads; BS 7671, 415.1.1 for additional protection", "",
)  # fmt: skip
QUARTER_AMP = Figure(
    "rcd.250-ma", Decimal(250), Unit.MILLIAMP, "may be used in place of 5 × where rated 30 mA or less", "EN 61008",
    f"as in {_MAKERS}",
)  # fmt: skip

_RAMP = "trade articles on the trip current of RCDs"
RAMP_LEAST = Figure(
    "rcd.ramp.least", Decimal(50), "%", "trip current on a.c., above this share of the rating", _RAMP, ""
)
RAMP_MOST = Figure(
    "rcd.ramp.most", Decimal(100), "%", "trip current on a.c., at most", "EN 61008", "", Status.MEMORY
)  # fmt: skip
RAMP_PULSED_LEAST = Figure(
    "rcd.ramp.pulsed.least", Decimal(35), "%", "type A, half-wave pulsed current, at least", _RAMP, ""
)
RAMP_PULSED_MOST = Figure(
    "rcd.ramp.pulsed.most",
    Decimal(140),
    "%",
    "type A, half-wave pulsed current, at most",
    "EN 61008",
    "",
    Status.MEMORY,
)

FIGURES: tuple[Figure, ...] = (
    *(figure for column in MOST.values() for figure in column.values()),
    *(figure for pair in SELECTIVE.values() for figure in pair),
    SELECTIVE_FROM_5_A, LEAD_MOST, QUARTER_AMP, RAMP_LEAST, RAMP_MOST, RAMP_PULSED_LEAST, RAMP_PULSED_MOST,
)  # fmt: skip
