"""Money: the arithmetic of the European standard for invoices, EN 16931-1 (rules BR-CO-10 to BR-CO-17).

Line amounts are rounded to pence, half up; VAT is worked out once for each category and rate on the sum of
its lines; totals are additions only. Amounts are pounds as Decimal; stored amounts are whole pence.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

ZERO = Decimal("0.00")
_TOO_LARGE = 10**20  # pence


class VatCategory(StrEnum):
    """VAT category codes of EN 16931 (UNCL5305 subset)."""

    STANDARD = "S"
    ZERO = "Z"
    EXEMPT = "E"
    REVERSE_CHARGE = "AE"
    OUTSIDE = "O"
    EXPORT = "G"
    INTRA_COMMUNITY = "K"
    CANARY_ISLANDS = "L"
    CEUTA_MELILLA = "M"
    SPLIT_PAYMENT = "B"

    @property
    def word(self) -> str:
        return _CATEGORY_WORDS[self.value]


_CATEGORY_WORDS = {
    "S": "standard or reduced rate",
    "Z": "zero rated",
    "E": "exempt",
    "AE": "reverse charge",
    "O": "outside the scope of VAT",
    "G": "export",
    "K": "intra-community supply",
    "L": "Canary Islands tax",
    "M": "Ceuta and Melilla tax",
    "B": "split payment",
}
_ABOVE_ZERO = (VatCategory.STANDARD, VatCategory.SPLIT_PAYMENT)
_ANY_RATE = (*_ABOVE_ZERO, VatCategory.CANARY_ISLANDS, VatCategory.CEUTA_MELILLA)


@dataclass(frozen=True)
class Vat:
    """A VAT category with its rate in per cent; the rate is None only outside the scope (O)."""

    category: VatCategory
    rate: Decimal | None

    def __post_init__(self) -> None:
        if self.category == VatCategory.OUTSIDE:
            if self.rate is not None:
                raise ValueError("What is outside the scope of VAT has no rate.")
        elif self.rate is None:
            raise ValueError(f"VAT category {self.category} needs a rate.")
        elif not self.rate.is_finite() or not 0 <= self.rate <= 100:
            raise ValueError("A VAT rate lies between 0 and 100 per cent.")
        elif self.category in _ABOVE_ZERO and self.rate == 0:
            raise ValueError(f"VAT category {self.category} needs a rate above 0; use Z for zero rated.")
        elif self.category not in _ANY_RATE and self.rate != 0:
            raise ValueError(f"VAT category {self.category} has the rate 0.")


OUTSIDE_SCOPE = Vat(VatCategory.OUTSIDE, None)


@dataclass(frozen=True)
class Adjustment:
    """An allowance (charge False) or a charge (True), in pounds. On a document it needs a vat.

    percent and base (BT-94 and BT-93, on a line BT-138 and BT-137) say how the amount was worked out, where it was.
    """

    charge: bool
    amount: Decimal
    vat: Vat | None = None
    reason: str = ""
    percent: Decimal | None = None
    base: Decimal | None = None


@dataclass(frozen=True)
class Line:
    """One line: quantity (BT-129) at price (BT-146) for base_quantity (BT-149), with its own adjustments."""

    quantity: Decimal
    price: Decimal
    vat: Vat
    base_quantity: Decimal = Decimal(1)
    adjustments: tuple[Adjustment, ...] = ()


@dataclass(frozen=True)
class VatGroup:
    """BG-23: the taxable amount (BT-116) and tax (BT-117) of one category and rate."""

    category: VatCategory
    rate: Decimal | None
    taxable: Decimal
    tax: Decimal


@dataclass(frozen=True)
class Totals:
    """The document's totals; each field names its business term."""

    line_nets: tuple[Decimal, ...]  # BT-131, one a line
    lines: Decimal  # BT-106
    allowances: Decimal  # BT-107
    charges: Decimal  # BT-108
    net: Decimal  # BT-109
    vat: Decimal  # BT-110
    gross: Decimal  # BT-112
    paid: Decimal  # BT-113
    rounding: Decimal  # BT-114
    due: Decimal  # BT-115
    groups: tuple[VatGroup, ...]  # BG-23


def total_line(line: Line) -> Decimal:
    """Work out BT-131: price ÷ base quantity × quantity, rounded, plus the line's charges less allowances."""
    if line.base_quantity <= 0:
        raise ValueError("The base quantity of a price is above 0.")
    exact = Fraction(line.price) * Fraction(line.quantity) / Fraction(line.base_quantity)
    return total_half_up(exact) + _signed(line.adjustments)


def total_invoice(
    lines: Sequence[Line],
    adjustments: Sequence[Adjustment] = (),
    paid: Decimal = ZERO,
    rounding: Decimal = ZERO,
) -> Totals:
    """Work out the totals of a document and its VAT groups, in order of first occurrence."""
    nets = tuple(total_line(line) for line in lines)
    taxable: dict[Vat, Decimal] = {}  # 20 and 20.0 are one group: equal Decimals hash alike
    for line, net in zip(lines, nets, strict=True):
        taxable[line.vat] = taxable.get(line.vat, ZERO) + net
    for adjustment in adjustments:
        if adjustment.vat is None:
            raise ValueError("An allowance or charge on a document needs a VAT category.")
        taxable[adjustment.vat] = taxable.get(adjustment.vat, ZERO) + _signed((adjustment,))
    groups = tuple(VatGroup(vat.category, vat.rate, net, total_vat(net, vat.rate)) for vat, net in taxable.items())
    allowances = sum((total_half_up(a.amount) for a in adjustments if not a.charge), ZERO)
    charges = sum((total_half_up(a.amount) for a in adjustments if a.charge), ZERO)
    line_total = sum(nets, ZERO)
    net = line_total - allowances + charges
    vat = sum((group.tax for group in groups), ZERO)
    paid, rounding = total_half_up(paid), total_half_up(rounding)
    return Totals(
        line_nets=nets,
        lines=line_total,
        allowances=allowances,
        charges=charges,
        net=net,
        vat=vat,
        gross=net + vat,
        paid=paid,
        rounding=rounding,
        due=net + vat - paid + rounding,
        groups=groups,
    )


def total_vat(net: Decimal, rate: Decimal | None) -> Decimal:
    """Work out the VAT on a net amount at a rate in per cent (BR-CO-17); nothing without a rate."""
    return ZERO if rate is None else total_half_up(Fraction(net) * Fraction(rate) / 100)


def total_vat_within(gross: Decimal, rate: Decimal) -> Decimal:
    """Work out the VAT within a price that includes it, by the VAT fraction: 1/6 at 20 %, 1/21 at 5 %."""
    return total_half_up(Fraction(gross) * Fraction(rate) / (100 + Fraction(rate)))


def total_half_up(amount: Decimal | Fraction) -> Decimal:
    """Round to two places, half up; negative amounts likewise, so that a reversal mirrors its original.

    Refuses amounts beyond any invoice, whose sums Decimal would no longer add exactly.
    """
    exact = Fraction(amount) * 100
    if abs(exact) >= _TOO_LARGE:
        raise ValueError("This amount is too large.")
    whole = (2 * abs(exact.numerator) + exact.denominator) // (2 * exact.denominator)
    return Decimal(whole if exact >= 0 else -whole).scaleb(-2)


def total_shares(amount: Decimal, weights: Sequence[Decimal | int]) -> tuple[Decimal, ...]:
    """Split an amount by weights into pence that add up to it; odd pence go to the largest remainders."""
    total = sum((Fraction(weight) for weight in weights), Fraction(0))
    if total <= 0 or any(weight < 0 for weight in weights):
        raise ValueError("Weights are not negative and not all 0.")
    pence = convert_to_pence(amount)
    exact = [abs(pence) * Fraction(weight) / total for weight in weights]
    floors = [share.numerator // share.denominator for share in exact]
    order = sorted(range(len(exact)), key=lambda place: (floors[place] - exact[place], place))
    for place in order[: abs(pence) - sum(floors)]:
        floors[place] += 1
    return tuple(convert_from_pence(share if pence >= 0 else -share) for share in floors)


def convert_to_pence(amount: Decimal) -> int:
    """Convert pounds to whole pence; refuse an amount that has parts of a penny."""
    pence = Fraction(amount) * 100
    if pence.denominator != 1:
        raise ValueError(f"{amount} is not a whole number of pence.")
    return pence.numerator


def convert_from_pence(pence: int) -> Decimal:
    """Convert whole pence to pounds with two places."""
    return Decimal(pence).scaleb(-2)


def _signed(adjustments: Iterable[Adjustment]) -> Decimal:
    return sum((total_half_up(a.amount) if a.charge else -total_half_up(a.amount) for a in adjustments), ZERO)
