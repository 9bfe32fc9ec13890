"""How an invoice trader in the United Kingdom may round VAT down: HMRC's VAT guide (Notice 700), 17.5.

Ohmstead's own papers do not use it: they round half up, once for each rate, as EN 16931 wants. These are here to check
a paper that somebody else has made.
"""

from decimal import Decimal
from fractions import Fraction

_HALF_PENNY = Fraction(1, 2)


def total_vat_down(net: Decimal, rate: Decimal) -> Decimal:
    """Work out the VAT on a net amount in pounds, rounded down to a whole penny (17.5)."""
    pence = Fraction(net) * Fraction(rate) / 100 * 100
    return _pounds(Fraction(abs(pence.numerator) // pence.denominator) * (1 if pence >= 0 else -1))


def number_line_vat_down(pence: Decimal) -> Decimal:
    """Round the VAT of a line in pence down to the nearest 0.1p (17.5.1, first way): 86.76p to 86.7p."""
    tenths = Fraction(pence) * 10
    return Decimal(tenths.numerator // tenths.denominator) / 10


def number_line_vat_near(pence: Decimal) -> Decimal:
    """Round the VAT of a line in pence to the nearest 1p or 0.5p (17.5.1, second way): 86.76p to 87p."""
    return _near(Fraction(pence)).normalize()


def number_unit_vat_near(pounds: Decimal) -> Decimal:
    """Round the VAT of one unit in pounds to the nearest 1p or 0.5p, but never to nothing (17.5.2): 0.0024 to 0.005."""
    pence = _near(Fraction(pounds) * 100)
    return (pence or Decimal("0.5") if pounds > 0 else pence) / 100


def _near(pence: Fraction) -> Decimal:
    halves = pence / _HALF_PENNY
    whole = (2 * halves.numerator + halves.denominator) // (2 * halves.denominator)
    return Decimal(whole) / 2


def _pounds(pence: Fraction) -> Decimal:
    return Decimal(pence.numerator).scaleb(-2)
