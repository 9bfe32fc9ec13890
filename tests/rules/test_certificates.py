"""Counts of a certificate, its number, and what stands against issuing one."""

from dataclasses import replace
from datetime import date

import pytest

from app.rules.certificates import (
    CustomerFacts,
    ItemResult,
    PremisesFacts,
    count_verdicts,
    may_issue_certificate,
    number_certificate,
)
from app.rules.verdicts import Verdict
from tests.documents.sample_papers import FIRM, certificate

SOUND = certificate(12, failing=2, untested=1)


def test_the_four_verdicts_add_up_to_the_items() -> None:
    rows = (*SOUND.rows, ItemResult("0100", "Kettle", Verdict.DECISION))
    counts = count_verdicts(rows)
    assert (counts.items, counts.passed, counts.failed, counts.decisions, counts.incomplete) == (13, 9, 2, 1, 1)
    assert counts.not_tested == 1


def test_a_sound_certificate_may_be_issued() -> None:
    assert may_issue_certificate(SOUND) == ()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"rows": ()}, "nothing to certify"),
        ({"customer": CustomerFacts("")}, "customer has no name"),
        ({"premises": PremisesFacts("")}, "neither a name nor an address"),
        ({"technicians": ()}, "Nobody is recorded"),
        ({"authorised_role": ""}, "name and role"),
        ({"tested_from": date(2026, 3, 5)}, "ends before it starts"),
        ({"issued_on": date(2026, 3, 3)}, "dated before the last test"),
        ({"instruments": ()}, "no instrument"),
        ({"firm": replace(FIRM, company_number="")}, "registered number"),
        ({"rows": (ItemResult("0007", "Kettle", Verdict.FAIL),)}, "Item 0007 has failed"),
        ({"rows": (ItemResult("0007", "Kettle", Verdict.INCOMPLETE),)}, "no reason why"),
        ({"rows": (ItemResult("0007", "Kettle", Verdict.PASS, not_tested_reason="Lost"),)}, "yet its verdict"),
    ],
)
def test_what_stands_against_issuing(change: dict[str, object], words: str) -> None:
    against = may_issue_certificate(replace(SOUND, **change))  # type: ignore[arg-type]
    assert len(against) == 1
    assert words in against[0]


def test_numbers() -> None:
    assert number_certificate(123) == "C-000123"
    with pytest.raises(ValueError, match="starts at 1"):
        number_certificate(0)
