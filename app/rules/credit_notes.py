"""What may be credited of an issued invoice: never more than is left of a line, of a VAT rate or of the whole.

A credit note follows regulations 15 and 15C of the VAT Regulations 1995 (SI 1995/2518; 15C from memory): it names the
invoice it corrects and credits VAT at the rate of that invoice. Amounts are pounds as Decimal.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from app.rules.certificates import CustomerFacts, PremisesFacts
from app.rules.invoices import InvoiceLine
from app.rules.letterheads import FirmFacts, list_missing_particulars
from app.rules.money import ZERO, Adjustment, Vat, VatGroup, total_half_up, total_line, total_vat
from app.rules.verdicts import Mistakes

DAYS_TO_ISSUE = 14


@dataclass(frozen=True)
class CreditablePart:
    """A line, allowance or charge of an invoice, with what earlier credit notes took of it.

    place: lines in order, then the allowances and charges. Quantity and net carry the sign that the invoice gives them.
    """

    place: int
    text: str
    quantity: Decimal
    price: Decimal
    vat: Vat
    net: Decimal
    unit: str = ""
    base_quantity: Decimal = Decimal(1)
    credited: Decimal = ZERO
    credited_quantity: Decimal = Decimal(0)

    @property
    def left(self) -> Decimal:
        return self.net - self.credited

    @property
    def quantity_left(self) -> Decimal:
        return self.quantity - self.credited_quantity if self.left else Decimal(0)


@dataclass(frozen=True)
class CreditWish:
    """What somebody asks to credit of one part: a quantity, an amount without VAT, or, with neither, all that is left.

    Both are given without a sign; the part has one.
    """

    place: int
    quantity: Decimal | None = None
    amount: Decimal | None = None


@dataclass(frozen=True)
class CreditLine:
    """One line of a credit note. net is quantity × price ÷ base_quantity; counted is how much of the part's quantity
    it takes, 0 where only an amount is credited."""

    place: int
    text: str
    quantity: Decimal
    price: Decimal
    vat: Vat
    net: Decimal
    unit: str = ""
    base_quantity: Decimal = Decimal(1)
    counted: Decimal = Decimal(0)


@dataclass(frozen=True)
class CreditTotals:
    net: Decimal
    vat: Decimal
    gross: Decimal
    groups: tuple[VatGroup, ...]


@dataclass(frozen=True)
class CreditNoteFacts:
    """Everything a credit note says. left_to_pay: what remains to be paid on the invoice after it.

    vat_number: as the invoice printed it; empty for a firm that was not registered.
    """

    number: str
    firm: FirmFacts
    customer: CustomerFacts
    issued_on: date
    invoice_number: str
    invoice_issued_on: date
    tax_point: date
    reason: str
    lines: tuple[CreditLine, ...]
    totals: CreditTotals
    left_to_pay: Decimal
    registered: bool
    vat_number: str = ""
    whole: bool = False
    premises: PremisesFacts | None = None
    customer_reference: str = ""


def list_creditable_parts(
    lines: Sequence[InvoiceLine],
    adjustments: Sequence[Adjustment] = (),
    earlier: Iterable[tuple[int, Decimal, Decimal]] = (),
) -> tuple[CreditablePart, ...]:
    """List the parts of an invoice. earlier: (place, quantity, net) of each line of its credit notes so far."""
    quantities: dict[int, Decimal] = {}
    nets: dict[int, Decimal] = {}
    for place, quantity, net in earlier:
        quantities[place] = quantities.get(place, Decimal(0)) + quantity
        nets[place] = nets.get(place, ZERO) + net
    parts = [
        CreditablePart(place, line.text, line.quantity, line.price, line.vat, total_line(line.priced), line.unit,
                       line.base_quantity)
        for place, line in enumerate(lines)
    ]  # fmt: skip
    for adjustment in adjustments:
        sign = Decimal(1 if adjustment.charge else -1)
        amount = total_half_up(adjustment.amount)
        text = adjustment.reason or ("Charge" if adjustment.charge else "Allowance")
        vat = adjustment.vat or parts[0].vat
        parts.append(CreditablePart(len(parts), text, sign, amount, vat, sign * amount))
    return tuple(
        CreditablePart(
            part.place, part.text, part.quantity, part.price, part.vat, part.net, part.unit, part.base_quantity,
            nets.get(part.place, ZERO), quantities.get(part.place, Decimal(0)),
        )
        for part in parts
    )  # fmt: skip


def list_credit_lines(parts: Sequence[CreditablePart], wishes: Sequence[CreditWish]) -> tuple[CreditLine, ...]:
    """List the lines of a credit note. Raises Mistakes, fields quantity_<place> and amount_<place>."""
    known = {part.place: part for part in parts}
    lines: list[CreditLine] = []
    mistakes: dict[str, str] = {}
    for wish in wishes:
        part = known.get(wish.place)
        if part is None or wish.place in [line.place for line in lines]:
            raise ValueError("A wish names a part of the invoice, once.")
        if part.left == 0:
            mistakes[f"amount_{part.place}"] = "Nothing is left to credit of this line."
        elif wish.amount is not None:
            _take_amount(part, wish.amount, lines, mistakes)
        else:
            _take_quantity(part, wish.quantity, lines, mistakes)
    if mistakes:
        raise Mistakes(mistakes)
    return tuple(lines)


def _take_amount(part: CreditablePart, amount: Decimal, lines: list[CreditLine], mistakes: dict[str, str]) -> None:
    if not 0 < amount <= abs(part.left):
        mistakes[f"amount_{part.place}"] = f"Between £0.01 and £{abs(part.left):,.2f} is left to credit of this line."
        return
    lines.append(_priced_at_one(part, _like(part.net, total_half_up(amount)), part.text, Decimal(0)))


def _take_quantity(
    part: CreditablePart, quantity: Decimal | None, lines: list[CreditLine], mistakes: dict[str, str]
) -> None:
    left = abs(part.quantity_left)
    wanted = left if quantity is None else quantity
    if quantity is not None and not 0 < wanted <= left:
        text = f"{left.normalize():f}"
        mistakes[f"quantity_{part.place}"] = f"{text} {'is' if left == 1 else 'are'} left to credit of this line."
        return
    counted = _like(part.quantity, wanted)
    if wanted == left:
        net = part.left
    else:
        share = total_half_up(Fraction(abs(part.net)) * Fraction(wanted) / Fraction(abs(part.quantity)))
        net = _like(part.net, min(share, abs(part.left)))
    exact = total_half_up(Fraction(part.price) * Fraction(counted) / Fraction(part.base_quantity))
    if exact == net and counted:
        lines.append(
            CreditLine(
                part.place, part.text, counted, part.price, part.vat, net, part.unit, part.base_quantity, counted
            )
        )
    elif net:
        of = f" ({wanted.normalize():f} {part.unit})" if part.unit and 0 < wanted < abs(part.quantity) else ""
        lines.append(_priced_at_one(part, net, part.text + of, counted))
    else:
        mistakes[f"quantity_{part.place}"] = "So few of these come to less than a penny."


def _like(example: Decimal, amount: Decimal) -> Decimal:
    return -amount if example < 0 else amount


def _priced_at_one(part: CreditablePart, net: Decimal, text: str, counted: Decimal) -> CreditLine:
    return CreditLine(part.place, text, _like(net, Decimal(1)), abs(net), part.vat, net, counted=counted)


def total_credit(parts: Sequence[CreditablePart], lines: Sequence[CreditLine]) -> CreditTotals:
    """Work out a credit note's totals. VAT of each rate: that on everything credited so far with this note, less that
    on what was credited before, so that notes for the whole of an invoice come to its VAT exactly.

    On a first credit note this is EN 16931's BR-CO-17; on a later one it differs from that by a penny at most.
    """
    groups = []
    for vat in dict.fromkeys(line.vat for line in lines):
        before = sum((part.credited for part in parts if part.vat == vat), ZERO)
        net = sum((line.net for line in lines if line.vat == vat), ZERO)
        tax = total_vat(before + net, vat.rate) - total_vat(before, vat.rate)
        groups.append(VatGroup(vat.category, vat.rate, net, tax))
    net = sum((group.taxable for group in groups), ZERO)
    tax = sum((group.tax for group in groups), ZERO)
    return CreditTotals(net, tax, net + tax, tuple(groups))


def may_credit(parts: Sequence[CreditablePart], lines: Sequence[CreditLine]) -> tuple[str, ...]:
    """Say what stands against a credit note of these lines; empty when nothing does."""
    if not lines:
        return ("Choose what to credit: a line, some of it, or all that is left.",)
    against = []
    totals = total_credit(parts, lines)
    if totals.gross <= 0:
        against.append("This credits nothing: the total of a credit note is above zero.")
    for group in totals.groups:
        vat = Vat(group.category, group.rate)
        whole = sum((part.net for part in parts if part.vat == vat), ZERO)
        after = sum((part.credited for part in parts if part.vat == vat), ZERO) + group.taxable
        if not min(whole, ZERO) <= after <= max(whole, ZERO):
            name = f"{vat.rate.normalize():f} %" if vat.rate else vat.category.word
            against.append(
                f"Together this credits more at {name} than the invoice charges: £{after:,.2f} of £{whole:,.2f}. "
                "Credit the lines that take money off as well."
            )
    whole_gross, before_gross = _gross(parts, "net"), _gross(parts, "credited")
    if not against and before_gross + totals.gross > whole_gross:
        against.append(f"£{whole_gross - before_gross:,.2f} is left to credit of this invoice.")
    return tuple(against)


def total_left(parts: Sequence[CreditablePart]) -> Decimal:
    """What can still be credited of an invoice, VAT included."""
    return _gross(parts, "net") - _gross(parts, "credited")


def _gross(parts: Sequence[CreditablePart], name: str) -> Decimal:
    nets: dict[Vat, Decimal] = {}
    for part in parts:
        nets[part.vat] = nets.get(part.vat, ZERO) + getattr(part, name)
    return sum((net + total_vat(net, vat.rate) for vat, net in nets.items()), ZERO)


def may_issue_credit_note(facts: CreditNoteFacts) -> tuple[str, ...]:
    """Say what stands against issuing, as sentences for the office; empty when nothing does."""
    against = list(list_missing_particulars(facts.firm))
    if not facts.reason.strip():
        against.append("Say why it is credited: a credit note names its reason.")
    if facts.issued_on < facts.invoice_issued_on:
        against.append("A credit note is not dated before the invoice that it corrects.")
    return tuple(against)


def limit_credit_note_day(agreed_on: date) -> date:
    """The last day on which a credit note for a decrease agreed that day is in time: 14 days (HMRC, VATREC13040)."""
    return agreed_on + timedelta(days=DAYS_TO_ISSUE)


def number_credit_note(sequence: int, prefix: str = "CN") -> str:
    """Number of the sequence-th credit note of its series: CN-000123."""
    if sequence < 1:
        raise ValueError("A series starts at 1.")
    return f"{prefix}-{sequence:06d}"
