"""Which open invoices a line of a bank statement may have paid, with a score and the reasons in words.

The points are ours: a number in the text says more than an amount, an amount more than a name. A proposal is only that;
nothing is booked without a person's tick.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from app.rules.payments import OpenInvoice

NUMBER, REFERENCE, AMOUNT, TOGETHER, NAME, PART = 50, 25, 30, 25, 15, 5
PROPOSALS_MOST = 3
SCORE_LEAST = 15
_FILLING = {"the", "and", "ltd", "limited", "plc", "llp", "co", "company", "of", "for", "uk", "bacs", "fps", "ref"}


@dataclass(frozen=True)
class Proposal:
    """Invoices that a line may pay, in the order of their due days. score: up to 100; why: its reasons."""

    invoices: tuple[OpenInvoice, ...]
    score: int
    why: tuple[str, ...]

    @property
    def owed_pence(self) -> int:
        return sum(invoice.owed_pence for invoice in self.invoices)


def list_proposals(text: str, pence: int, invoices: Sequence[OpenInvoice]) -> tuple[Proposal, ...]:
    """List the likeliest proposals, best first: single invoices, those named together, all that a customer owes."""
    ordered = sorted(invoices, key=lambda each: (each.due_on, each.number))
    proposals = [_single(text, pence, invoice) for invoice in ordered]
    named = [invoice for invoice in ordered if _names(text, invoice.number)]
    sets = [tuple(named)] if len(named) > 1 and len({each.customer_id for each in named}) == 1 else []
    for customer_id in dict.fromkeys(each.customer_id for each in ordered):
        owed = tuple(each for each in ordered if each.customer_id == customer_id)
        if len(owed) > 1 and owed not in sets and sum(each.owed_pence for each in owed) == pence:
            sets.append(owed)
    proposals += [_together(text, pence, each) for each in sets]
    good = [proposal for proposal in proposals if proposal.score >= SCORE_LEAST]
    good.sort(key=lambda each: (-each.score, each.invoices[0].due_on, each.invoices[0].number))
    return tuple(good[:PROPOSALS_MOST])


def _single(text: str, pence: int, invoice: OpenInvoice) -> Proposal:
    score = 0
    why: list[str] = []
    if _names(text, invoice.number):
        score, why = score + NUMBER, [*why, f"the text names {invoice.number}"]
    if invoice.reference and len(_plain(invoice.reference)) > 2 and _plain(invoice.reference) in _plain(text):
        score, why = score + REFERENCE, [*why, f"the text holds their reference {invoice.reference}"]
    if invoice.owed_pence == pence:
        score, why = score + AMOUNT, [*why, "exactly what is to be paid on it"]
    elif why and pence < invoice.owed_pence:
        score, why = score + PART, [*why, "a part of what is to be paid"]
    points, said = _name(text, invoice.customer)
    return Proposal((invoice,), min(score + points, 100), (*why, *said))


def _together(text: str, pence: int, invoices: tuple[OpenInvoice, ...]) -> Proposal:
    score = 0
    why: list[str] = []
    if all(_names(text, invoice.number) for invoice in invoices):
        score, why = score + NUMBER, [*why, f"the text names all {len(invoices)} of them"]
    if sum(invoice.owed_pence for invoice in invoices) == pence:
        score, why = score + AMOUNT + TOGETHER, [*why, "exactly what is to be paid on them together"]
    points, said = _name(text, invoices[0].customer)
    return Proposal(invoices, min(score + points, 100), (*why, *said))


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9]", "", text.casefold())


def _names(text: str, number: str) -> bool:
    """Whether a text names a paper: INV-000045, INV000045, inv 45; never as a piece of a longer number."""
    prefix, _, digits = number.rpartition("-")
    short = digits.lstrip("0") or "0"
    spaced = r"[\s\-_/.:#]*"
    letters = spaced.join(re.escape(letter) for letter in prefix)
    pattern = rf"(?<![a-z0-9]){letters}{spaced}(?:no|number|nr)?{spaced}0*{short}(?![0-9])"
    return re.search(pattern, text, re.I) is not None


def _name(text: str, name: str) -> tuple[int, tuple[str, ...]]:
    """Points for words of the customer's name that stand in the text."""
    words = [word for word in re.findall(r"[a-z0-9]+", name.casefold()) if len(word) > 2 and word not in _FILLING]
    said = set(re.findall(r"[a-z0-9]+", text.casefold()))
    shared = [word for word in words if word in said or any(len(each) > 4 and word.startswith(each) for each in said)]
    if not shared:
        return 0, ()
    points = NAME if len(shared) == len(words) else max(NAME * len(shared) // len(words), PART)
    return points, (f"the text holds “{' '.join(shared)}” of {name}",)
