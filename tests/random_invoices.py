"""Random invoices, and their totals worked out once more without the program's own
arithmetic: the rules BR-CO-10 to BR-CO-17 and BR-S-08 of EN 16931-1."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from random import Random

from app.rules.discounts import Discount, list_document_allowances, list_line_allowances
from app.rules.money import Adjustment, Line, Totals, Vat, VatCategory, total_invoice

PENNY = Decimal("0.01")
VATS = (
    Vat(VatCategory.STANDARD, Decimal(20)),
    Vat(VatCategory.STANDARD, Decimal(5)),
    Vat(VatCategory.STANDARD, Decimal("17.5")),
    Vat(VatCategory.ZERO, Decimal(0)),
    Vat(VatCategory.EXEMPT, Decimal(0)),
    Vat(VatCategory.REVERSE_CHARGE, Decimal(0)),
)


def random_invoice(chance: Random) -> tuple[list[Line], tuple[Adjustment, ...], Decimal, Decimal]:
    """Lines with discounts, allowances of the whole, what is paid and what is rounded."""
    lines = []
    for _ in range(chance.randint(1, 12)):
        quantity, price = Decimal(chance.randint(1, 50_000)) / 100, Decimal(chance.randint(0, 1_000_000)) / 10_000
        off = Discount(percent=Decimal(chance.randint(1, 500)) / 10) if chance.random() < 0.2 else None
        lines.append(Line(quantity, price, chance.choice(VATS), adjustments=list_line_allowances(off, quantity, price)))
    whole = None
    if chance.random() < 0.3:
        whole = Discount(percent=Decimal(chance.randint(1, 200)) / 10)
    elif chance.random() < 0.3:
        whole = Discount(amount=Decimal(chance.randint(1, 5_000)) / 100)
    allowances = list_document_allowances(whole, lines)
    return lines, allowances, Decimal(chance.randint(0, 10_000)) / 100, Decimal(chance.randint(-50, 50)) / 100


def differences(lines: Sequence[Line], allowances: Sequence[Adjustment], paid: Decimal, rounding: Decimal) -> list[str]:
    """What the program's totals say otherwise than the standard; empty when nothing does."""
    totals: Totals = total_invoice(lines, allowances, paid, rounding)
    nets = [
        (line.quantity * line.price / line.base_quantity).quantize(PENNY, ROUND_HALF_UP)
        - sum(each.amount for each in line.adjustments)
        for line in lines
    ]
    taxable: dict[tuple[str, Decimal], Decimal] = {}
    for vat, amount in [
        *((line.vat, net) for line, net in zip(lines, nets, strict=True)),
        *((each.vat, -each.amount) for each in allowances),
    ]:
        assert vat is not None and vat.rate is not None
        taxable[vat.category.value, vat.rate] = taxable.get((vat.category.value, vat.rate), Decimal(0)) + amount
    tax = {key: (net * key[1] / 100).quantize(PENNY, ROUND_HALF_UP) for key, net in taxable.items()}
    net, vat_total = sum(nets) - sum(each.amount for each in allowances), sum(tax.values())
    expected = {
        "BT-131": (list(totals.line_nets), nets),
        "BT-106": (totals.lines, sum(nets)),
        "BT-109": (totals.net, net),
        "BT-110": (totals.vat, vat_total),
        "BT-112": (totals.gross, net + vat_total),
        "BT-115": (totals.due, net + vat_total - paid + rounding),
        "BT-116": ({(each.category.value, each.rate): each.taxable for each in totals.groups}, taxable),
        "BT-117": ({(each.category.value, each.rate): each.tax for each in totals.groups}, tax),
    }
    return [f"{term}: {ours} and not {theirs}" for term, (ours, theirs) in expected.items() if ours != theirs]
