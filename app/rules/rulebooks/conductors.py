"""Resistance of flexible copper conductors: the maxima of IEC 60228 class 5 at 20 °C, in mΩ per metre, and the factors
that bring a resistance measured at another temperature back to 20 °C.
"""

from decimal import Decimal

from app.rules.rulebooks.figures import Figure, Status

_SOURCE = "IEC 60228, class 5, plain copper at 20 °C"
_TINNED = "IEC 60228, class 5, tinned copper at 20 °C"


def _row(csa: str, value: str, tinned: bool = False, status: Status = Status.SEEN, note: str = "") -> Figure:
    return Figure(
        key=f"conductor.{'tinned' if tinned else 'plain'}.{csa}",
        value=Decimal(value),
        unit="mΩ/m",
        condition=f"{csa} mm², {'tinned' if tinned else 'plain'} copper, 20 °C, maximum",
        source="IEC 60228" if status is Status.SEEN else "UK flex tables; not a size of IEC 60228",
        edition="class 5",
        status=status,
        note=note,
    )


_NOT_IEC = "1.25 mm² is not a size of IEC 60228; the value is the one used in UK tables."

PLAIN: dict[Decimal, Figure] = {
    Decimal(csa): _row(csa, value)
    for csa, value in (
        ("0.5", "39.0"), ("0.75", "26.0"), ("1.0", "19.5"), ("1.5", "13.3"), ("2.5", "7.98"),
        ("4", "4.95"), ("6", "3.30"), ("10", "1.91"), ("16", "1.21"),
    )
} | {Decimal("1.25"): _row("1.25", "15.6", status=Status.MEMORY, note=_NOT_IEC)}  # fmt: skip

TINNED: dict[Decimal, Figure] = {
    Decimal(csa): _row(csa, value, tinned=True)
    for csa, value in (
        ("0.5", "40.1"), ("0.75", "26.7"), ("1.0", "20.0"), ("1.5", "13.7"), ("2.5", "8.21"),
        ("4", "5.09"), ("6", "3.39"), ("10", "1.95"), ("16", "1.24"),
    )
}  # fmt: skip

# R20 = Rt × factor. Copper cable maker's table after IEC 60228; between two rows the factor is interpolated.
TO_20C: tuple[tuple[Decimal, Decimal], ...] = tuple(
    (Decimal(temperature), Decimal(factor))
    for temperature, factor in (
        ("5", "1.064"), ("10", "1.042"), ("15", "1.020"), ("20", "1.000"),
        ("25", "0.980"), ("30", "0.962"), ("35", "0.943"), ("40", "0.926"),
    )
)  # fmt: skip
