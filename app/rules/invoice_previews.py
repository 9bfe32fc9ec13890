"""The arithmetic of an invoice for machines: a case as plain data in, the totals of EN 16931 out, or every problem.

A problem is {path, message}, path a JSON Pointer into what was sent. Nothing is guessed and nothing passed over.
"""

import re
from decimal import Decimal
from enum import StrEnum

from app.rules.case_fields import Fields
from app.rules.case_parsing import CaseProblems
from app.rules.money import Adjustment, Line, Totals, Vat, VatCategory, total_invoice

Answer = dict[str, object]

_MOST_LINES = 10_000
_SIGNED = re.compile(r"-?[0-9]{1,15}(?:\.[0-9]{1,12})?")


class DocumentType(StrEnum):
    INVOICE = "invoice"
    CREDIT_NOTE = "credit-note"


def total_invoice_case(data: object, path: str = "") -> Answer:
    """Work out the totals of one case. Raises CaseProblems; path is where the case stands in a list."""
    problems: list[dict[str, str]] = []
    fields = Fields(data, path, problems)
    if problems:
        raise CaseProblems(problems)
    identity = _identity(fields)
    fields.choice("type", DocumentType)
    currency = fields.text("currency", 3)
    if currency and not re.fullmatch("[A-Z]{3}", currency):
        fields.problem("currency", "must be three capital letters, such as GBP")
    lines = [_line(each) for each in _objects(fields, "lines")]
    if fields.has("lines") and not lines and fields.data["lines"] == []:
        fields.problem("lines", "an invoice needs at least one line")
    elif not fields.has("lines"):
        fields.problem("lines", "is needed: a list with at least one line")
    adjustments = [_adjustment(each, on_document=True) for each in _objects(fields, "adjustments")]
    paid, rounding = _amount(fields, "paid"), _amount(fields, "rounding")
    fields.close()
    known_lines = [line for line in lines if line is not None]
    known = [adjustment for adjustment in adjustments if adjustment is not None]
    _check_outside(fields, known_lines, known)
    if problems:
        raise CaseProblems(problems)
    try:
        return _answer(identity, total_invoice(known_lines, known, paid, rounding))
    except ValueError as error:
        fields.problem("lines", str(error))
        raise CaseProblems(problems) from error


def total_invoice_cases(data: object) -> list[Answer]:
    """Work out one case or a list of cases, in order. Raises CaseProblems with the problems of all of them."""
    if not isinstance(data, list | tuple):
        return [total_invoice_case(data)]
    answers: list[Answer] = []
    problems: list[dict[str, str]] = []
    for place, case in enumerate(data):
        try:
            answers.append(total_invoice_case(case, f"/{place}"))
        except CaseProblems as error:
            problems += error.problems
    if problems:
        raise CaseProblems(problems)
    return answers


def _identity(fields: Fields) -> object:
    if not fields.has("id"):
        return None
    value = fields.data["id"]
    if isinstance(value, bool) or not isinstance(value, str | int) or len(str(value)) > 500:
        fields.problem("id", "must be text of at most 500 characters")
    return value


def _objects(fields: Fields, key: str) -> list[Fields]:
    if not fields.has(key):
        return []
    value = fields.data[key]
    if not isinstance(value, list | tuple):
        fields.problem(key, "must be a list")
        return []
    if len(value) > _MOST_LINES:
        fields.problem(key, f"holds more than {_MOST_LINES} entries")
        return []
    made = [Fields(each, f"{fields.path}/{key}/{place}", fields.problems) for place, each in enumerate(value)]
    return [each for each in made if each.data]


def _line(fields: Fields) -> Line | None:
    quantity, price = _signed(fields, "quantity"), _signed(fields, "price")
    for key, value in (("quantity", quantity), ("price", price)):
        if value is None and not fields.has(key):
            fields.problem(key, "is needed")
    if price is not None and price < 0:
        fields.problem("price", "must not be below zero: a return has a negative quantity")
    base = fields.number("base_quantity", above=True) if fields.has("base_quantity") else Decimal(1)
    vat = _vat(fields)
    adjustments = [_adjustment(each, on_document=False) for each in _objects(fields, "adjustments")]
    fields.close()
    if quantity is None or price is None or base is None or vat is None:
        return None
    return Line(quantity, price, vat, base, tuple(each for each in adjustments if each is not None))


def _adjustment(fields: Fields, *, on_document: bool) -> Adjustment | None:
    charge, reason = fields.flag("charge"), fields.text("reason")
    if not fields.has("charge"):
        fields.problem("charge", "is needed: true for a charge, false for an allowance")
    if not fields.has("amount"):
        fields.problem("amount", "is needed")
    amount = _amount(fields, "amount")
    vat = _vat(fields) if on_document else None
    fields.close()
    return None if on_document and vat is None else Adjustment(charge, amount, vat, reason)


def _vat(fields: Fields) -> Vat | None:
    if not fields.has("vat"):
        fields.problem("vat", "is needed: a category and its rate")
        return None
    chosen = Fields(fields.data["vat"], f"{fields.path}/vat", fields.problems)
    category = chosen.choice("category", VatCategory, required=True)
    rate = chosen.number("rate", most=Decimal(100))
    given = chosen.has("rate")
    chosen.close()
    if category is None or (given and rate is None):
        return None
    if category == VatCategory.OUTSIDE:
        rate = rate if rate else None
    elif not given and category in (VatCategory.STANDARD, VatCategory.SPLIT_PAYMENT):
        chosen.problem("rate", "is needed: the rate in per cent")
        return None
    elif not given:
        rate = Decimal(0)
    try:
        return Vat(category, rate)
    except ValueError as error:
        chosen.problem("rate", str(error))
        return None


def _signed(fields: Fields, key: str) -> Decimal | None:
    """Read a number that may be negative, as text or as a JSON number."""
    if not fields.has(key):
        return None
    value = fields.data[key]
    if isinstance(value, bool):
        text = ""
    elif isinstance(value, float):
        text = f"{Decimal(repr(value)):f}"
    else:
        text = f"{value:f}" if isinstance(value, Decimal) else str(value) if isinstance(value, int | str) else ""
    if _SIGNED.fullmatch(text):
        return Decimal(text)
    fields.problem(key, 'must be a number such as "12.50"')
    return None


def _amount(fields: Fields, key: str) -> Decimal:
    """Read an amount of money, at most two places (BR-DEC rules); nothing given is nothing."""
    value = _signed(fields, key)
    if value is not None and value != round(value, 2):
        fields.problem(key, "has more than two places after the point")
    return Decimal(0) if value is None else value


def _check_outside(fields: Fields, lines: list[Line], adjustments: list[Adjustment]) -> None:
    vats = {line.vat for line in lines} | {each.vat for each in adjustments if each.vat is not None}
    if len(vats) > 1 and any(vat.category == VatCategory.OUTSIDE for vat in vats):
        fields.problem("lines", "category O stands alone on an invoice (BR-O-11)")


def _answer(identity: object, totals: Totals) -> Answer:
    return {
        "id": identity,
        "BT-106": str(totals.lines),
        "BT-107": str(totals.allowances),
        "BT-108": str(totals.charges),
        "BT-109": str(totals.net),
        "BT-110": str(totals.vat),
        "BT-112": str(totals.gross),
        "BT-113": str(totals.paid),
        "BT-114": str(totals.rounding),
        "BT-115": str(totals.due),
        "vat": [
            {
                "category": group.category.value,
                "rate": None if group.rate is None else _two_places(group.rate),
                "taxable": str(group.taxable),
                "tax": str(group.tax),
            }
            for group in totals.groups
        ],
    }


def _two_places(rate: Decimal) -> str:
    return f"{rate:.2f}" if rate == round(rate, 2) else f"{rate.normalize():f}"
