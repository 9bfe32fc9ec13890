"""How long 100,000 random invoices take to add up, and that every total is that of EN 16931 to 0.00."""

import time
from collections.abc import Iterator
from random import Random

from app.rules.money import total_invoice
from tests.random_invoices import differences, random_invoice

COUNT = 100_000


def measure() -> Iterator[tuple[str, float]]:
    """Make the invoices, add them up, and compare each with the standard."""
    chance = Random(16931)
    wrong, took, began = 0, 0.0, time.perf_counter()
    for _ in range(COUNT):
        invoice = random_invoice(chance)
        start = time.perf_counter()
        total_invoice(*invoice)
        took += time.perf_counter() - start
        wrong += bool(differences(*invoice))
    yield f"{COUNT:,} random invoices added up", took
    yield f"the same made and compared: {wrong} differ", time.perf_counter() - began
