"""Which days are in doubt when an instrument fails, and until when.

The spans are our own rule; that nonconforming work is looked at back to the last good proof is the idea of ISO/IEC
17025:2017, 7.10 (from memory).
"""

from datetime import date

from app.rules.doubts import Doubt, Proof, list_doubts

OHM, MEGOHM = "1 Ω", "1 MΩ"


def on(month: int, day: int = 1) -> date:
    return date(2026, month, day)


def spans(*proofs: Proof) -> list[tuple[date | None, date | None, str]]:
    return [(doubt.since, doubt.until, doubt.reference) for doubt in list_doubts(proofs)]


def test_a_doubt_reaches_back_to_the_last_good_proof() -> None:
    good, check, bad = Proof(on(1), True), Proof(on(2), True, OHM), Proof(on(3), False, OHM)
    assert spans(good, check) == []
    assert spans(good, check, bad) == [(on(2), None, OHM)]
    assert spans(good, bad) == [(on(1), None, OHM)], "a calibration is a good proof for a check"
    assert spans(bad) == [(None, None, OHM)]
    assert spans(good, check, Proof(on(4), False)) == [(on(1), None, "")], "a check proves one value only"
    other = Proof(on(2, 20), True, MEGOHM)
    assert spans(good, check, other, bad) == [(on(2), None, OHM)], "nor does another item"


def test_a_doubt_lasts_until_the_day_before_the_next_good_proof_of_its_kind() -> None:
    good, bad = Proof(on(1), True, OHM), Proof(on(3), False, OHM)
    assert spans(good, bad, Proof(on(3, 10), True, MEGOHM)) == [(on(1), None, OHM)], "another item proves nothing"
    assert spans(good, bad, Proof(on(3, 10), True, OHM)) == [(on(1), on(3, 9), OHM)]
    assert spans(good, bad, Proof(on(3, 10), True)) == [(on(1), on(3, 9), OHM)], "a calibration ends every doubt"
    assert spans(good, bad, Proof(on(3), True, OHM)) == [(on(1), on(3), OHM)], "at least the day of the failure"
    laboratory = Proof(on(4), False)
    assert spans(laboratory, Proof(on(5), True, OHM)) == [(None, None, "")], "no check ends that of a calibration"
    assert spans(laboratory, Proof(on(5), True)) == [(None, on(4, 30), "")]


def test_found_outside_and_left_within_is_a_doubt_that_ends_on_its_day() -> None:
    adjusted = (Proof(on(4), False, key="calibration-2"), Proof(on(4), True, key="calibration-2"))
    assert spans(Proof(on(1), True), *adjusted) == [(on(1), on(4), "")]
    again = spans(Proof(on(1), True), *adjusted, Proof(on(5), False, OHM))
    assert again == [(on(4), None, OHM), (on(1), on(4), "")], "as left it is a good proof again"


def test_failures_in_a_row_are_one_doubt_and_later_ones_another() -> None:
    proofs = [
        Proof(on(1), True, "a"),
        Proof(on(2), False, "a", "check-2"),
        Proof(on(2), False, "a", "check-3"),
        Proof(on(3), True, "a"),
        Proof(on(4), False, "a", "check-5"),
    ]
    assert list_doubts(proofs) == (
        Doubt(on(3), None, on(4), "a", ("check-5",)),
        Doubt(on(1), on(2, 28), on(2), "a", ("check-2", "check-3")),
    )
    assert list_doubts(proofs)[1].holds(on(2, 28)) and not list_doubts(proofs)[1].holds(on(3))
