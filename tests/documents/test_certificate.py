"""The certificate as paper: what ISO/IEC 17025:2017, 7.8.2.1 wants is there, and numbers are those that were given."""

import json
from dataclasses import replace
from datetime import date

import pytest

from app.documents.certificate import certificate_from
from app.documents.pdf import to_pdf
from app.rules.certificates import ItemResult, ReadingFacts, TechnicianFacts
from app.rules.verdicts import Outcome, Verdict
from tests.documents.reading_back import codes_on, pages_of, text_of
from tests.documents.sample_papers import CHECK_URL, INSTRUMENT, certificate

FACTS = certificate(40, failing=3, untested=1)
DATA = certificate_from(FACTS)
PAGES = pages_of(to_pdf("certificate", DATA))
TEXT = " ".join(PAGES)


def test_the_data_can_be_kept_as_json() -> None:
    assert json.loads(json.dumps(DATA)) == DATA


def test_number_and_page_are_on_every_page() -> None:
    assert len(PAGES) > 3
    for place, text in enumerate(PAGES, start=1):
        assert "C-000123" in text
        assert f"Page {place} of {len(PAGES)}" in text


@pytest.mark.parametrize(
    "words",
    [
        "Certificate of inspection and test",  # a
        "Tarn & Alder Electrical Testing",  # b
        "2 Mill Lane, Millbeck, ZZ1 2AB",
        "Main building",  # c
        "Brackenhow Primary School",  # e
        "For the attention of Ruth Askew",
        "United Kingdom practice for equipment in service, edition of 2012, version 1",  # f
        "4 March 2026",  # i
        "5 March 2026",  # j
        "nothing was sampled",  # k
        "hold only for the items listed here",  # l
        "Not tested: room locked, nobody had the key.",  # n
        "Ines Tarn, owner",  # o
        "09:40 UTC",
        "passed on only whole",
        "a reading equal to the limit passes",  # 7.8.6
        "does not replace the dutyholder’s own duties, the law and codes of practice",
        "T-4471",
        "CAL-26-0193",
        "12 Jan 2027",
        "K7QM-2XHD",
        "registered in England and Wales, number 00000000",
    ],
)
def test_what_a_report_must_hold(words: str) -> None:
    assert words in TEXT


def test_the_end_is_marked_once() -> None:
    assert TEXT.count("End of certificate C-000123") == 1
    assert "End of certificate C-000123" in PAGES[-1]


def test_every_item_and_reading_is_in_the_schedule() -> None:
    schedule = TEXT[TEXT.index("Schedule of items") :]
    for row in FACTS.rows:
        assert row.number in schedule
        assert row.description in schedule
        for reading in row.readings:
            assert reading.reading in schedule
            assert reading.limit in schedule


def test_counts_on_the_cover_are_the_rows_and_the_sums() -> None:
    verdicts = [row["verdict"] for row in DATA["schedule"]["rows"]]
    tallies = {tally["verdict"]: tally["count"] for tally in DATA["summary"]["tallies"]}
    assert DATA["summary"]["items"] == len(verdicts) == len(FACTS.rows) == sum(tallies.values())
    assert tallies == {verdict: verdicts.count(verdict) for verdict in tallies}
    assert "36 of 40 items passed. 3 failed." in PAGES[0]
    assert "40 items 36 passed 3 failed 1 not tested" in PAGES[0]
    by_place = DATA["locations"]
    assert sum(place["items"] for place in by_place) == 40
    assert sum(place["fail"] for place in by_place) == 3


def test_failed_items_stand_before_the_schedule_with_what_to_do() -> None:
    before = TEXT[: TEXT.index("Schedule of items")]
    failed = [row for row in FACTS.rows if row.verdict == Verdict.FAIL]
    assert len(failed) == 3
    for row in failed:
        assert row.number in before
    assert before.count("Repair: Have the cord replaced with one of the same size") == 3
    assert "limit ≤ 0.139 Ω (0.1 + 1.5 m × 0.0260 Ω/m; IEC 60228, 0.75 mm²): 0." in before


def test_a_recorded_sentence_is_printed_as_it_was_recorded() -> None:
    sentence = "0.21 Ω, at most 0.139 Ω = 0.1 + 1.5 m × 0.0260 Ω/m (IEC 60228, 0.75 mm²): fail, 0.071 Ω over."
    row = next(row for row in FACTS.rows if row.verdict == Verdict.FAIL)
    reading = ReadingFacts(
        "protective-conductor-resistance", "protective conductor resistance", Outcome.FAIL, "0.21 Ω", "≤ 0.139 Ω",
        sentence=sentence, note="Measured twice",
    )  # fmt: skip
    (failed,) = certificate_from(certificate(1, rows=(replace(row, readings=(reading,)),)))["failed"]
    assert failed["wrong"][1] == f"Protective conductor resistance: {sentence} Measured twice."


def test_the_code_opens_the_verification_address() -> None:
    ((text, width_mm),) = codes_on(to_pdf("certificate", DATA))
    assert text == CHECK_URL
    assert width_mm >= 20


def test_a_small_certificate_shows_the_working_of_every_limit() -> None:
    text = text_of(to_pdf("certificate", certificate_from(certificate(1))))
    assert "The item passed." in text
    assert "0.1 + 1.5 m × 0.0260 Ω/m; IEC 60228, 0.75 mm²" in text
    assert "Schedule of items" not in text


def test_several_days_people_and_instruments_are_told_apart() -> None:
    rows = list(certificate(10).rows)
    rows[3] = replace(rows[3], tested_on=date(2026, 3, 5), technician="RB", instrument="ML-1")
    facts = certificate(
        10,
        rows=tuple(rows),
        tested_until=date(2026, 3, 5),
        technicians=(TechnicianFacts("Joss Alder", "JA"), TechnicianFacts("Rena Birk", "RB", "Birk Electrical")),
        instruments=(INSTRUMENT, replace(INSTRUMENT, serial="ML-1")),
    )
    rows[4] = replace(rows[4], instrument="T-4471")
    text = text_of(to_pdf("certificate", certificate_from(replace(facts, rows=tuple(rows)))))
    assert "4 to 5 March 2026" in text
    assert "Rena Birk of Birk Electrical (subcontractor)" in text
    assert "5 Mar 2026, RB" in text
    assert "Instrument ML-1." in text


def test_one_day_one_person_one_instrument_are_not_repeated() -> None:
    rows = tuple(replace(row, instrument="T-4471") for row in certificate(10).rows)
    text = text_of(to_pdf("certificate", certificate_from(certificate(10, rows=rows))))
    assert "Instrument T-4471." not in text
    assert ", JA" not in text


def test_a_correction_names_what_it_replaces() -> None:
    facts = certificate(
        2, replaces_number="C-000101", replaces_issued_on=date(2026, 2, 1), replaces_reason="A serial was wrong"
    )
    text = text_of(to_pdf("certificate", certificate_from(facts)))
    assert "This certificate replaces C-000101 of 1 February 2026. Reason: A serial was wrong." in text


def test_items_not_presented_and_decisions_are_listed() -> None:
    rows = (*certificate(2).rows, ItemResult("0009", "Fan", Verdict.DECISION, note="The reading is doubtful."))
    facts = certificate(3, rows=rows, missing_items=(("0417", "Hand lamp"),), deviations=("Switches were left on.",))
    text = text_of(to_pdf("certificate", certificate_from(facts)))
    assert "0417 Hand lamp." in text
    assert "The reading is doubtful." in text
    assert "Switches were left on." in text
    assert "1 needs a decision" in text


def test_crossed_outlets_are_named_together() -> None:
    crossed = [ReadingFacts("polarity", "polarity", Outcome.FAIL, point=f"outlet {place}") for place in (2, 4)]
    readings = (ReadingFacts("visual", "visual inspection", Outcome.PASS), *crossed)
    data = certificate_from(certificate(1, rows=(replace(certificate(1).rows[0], readings=readings),)))
    (drawn,) = data["schedule"]["rows"]
    assert [entry["text"] for entry in drawn["cells"]["other"]] == ["Visual: pass", "Polarity at outlet 2, 4: fail"]


def test_checks_without_a_number_share_a_line_by_outcome() -> None:
    row = certificate(1).rows[0]
    readings = (
        ReadingFacts("visual", "visual inspection", Outcome.PASS),
        ReadingFacts("polarity", "polarity", Outcome.PASS, point="outlet 1"),
        ReadingFacts("polarity", "polarity", Outcome.PASS, point="outlet 2"),
        ReadingFacts("functional", "functional check", Outcome.NOT_DONE),
        ReadingFacts("insulation-resistance", "insulation resistance", Outcome.NOT_DONE),
    )
    data = certificate_from(certificate(1, rows=(replace(row, readings=readings),)))
    (drawn,) = data["schedule"]["rows"]
    assert [entry["text"] for entry in drawn["cells"]["other"]] == [
        "Visual, polarity (2 points): pass",
        "Function: not done",
    ]
    assert [entry["text"] for entry in drawn["cells"]["insulation"]] == ["not done"]


def test_readings_at_several_points_name_them_and_share_the_limit() -> None:
    # 0.1 + 2 m of 1.25 mm² at 0.0156 Ω/m (UK flex tables, from memory).
    check = ("protective-conductor-resistance", "protective conductor resistance")

    def lines(*outcomes: Outcome) -> list[tuple[str, str]]:
        readings = tuple(
            ReadingFacts(*check, outcome, f"0.{n}1 Ω", "≤ 0.1312 Ω", point=f"outlet {n}")
            for n, outcome in enumerate(outcomes, 1)
        )
        row = replace(certificate(1).rows[0], readings=readings)
        (drawn,) = certificate_from(certificate(1, rows=(row,)))["schedule"]["rows"]
        return [(entry["text"], entry["under"]) for entry in drawn["cells"]["conductor"]]

    assert lines(Outcome.PASS, Outcome.PASS) == [("outlet 1, 2: 0.11, 0.21 Ω", "≤ 0.1312 Ω")]
    assert lines(Outcome.PASS, Outcome.FAIL) == [("outlet 1: 0.11 Ω", ""), ("outlet 2: 0.21 Ω fail", "≤ 0.1312 Ω")]


def test_a_doubtful_reading_says_why_a_decision_is_needed() -> None:
    reading = ReadingFacts(
        "insulation-resistance", "insulation resistance", Outcome.INCONCLUSIVE, "1.1 MΩ", "≥ 1 MΩ",
        sentence="1.1 MΩ, at least 1 MΩ: inconclusive.",
    )  # fmt: skip
    row = replace(certificate(1).rows[0], verdict=Verdict.DECISION, readings=(reading,), note="Ask the customer.")
    (listed,) = certificate_from(certificate(1, rows=(row,)))["decisions"]
    assert listed["reason"] == "Insulation resistance: 1.1 MΩ, at least 1 MΩ: inconclusive. Ask the customer."


def test_what_was_only_looked_at_is_said_once() -> None:
    failing = next(row for row in FACTS.rows if row.verdict == Verdict.FAIL)
    looked = ReadingFacts("visual", "visual inspection", Outcome.FAIL, sentence="Visual inspection: fail. Cord cut.")
    (failed,) = certificate_from(certificate(1, rows=(replace(failing, readings=(looked,)),)))["failed"]
    assert failed["wrong"] == ["Sheath of the cord cut near the plug, inner conductors visible."]
    bare = replace(failing, readings=(looked,), defects=())
    (failed,) = certificate_from(certificate(1, rows=(bare,)))["failed"]
    assert failed["wrong"] == ["Visual inspection: fail. Cord cut."]
    assert failed["todo"] == ["Keep it out of use until it has been repaired and tested again, or replace it."]


@pytest.mark.parametrize(("count", "most_pages"), [(1, 2), (6, 5), (40, 7), (400, 27)])
def test_pages_stay_within_reason(count: int, most_pages: int) -> None:
    facts = certificate(count, failing=count // 20)
    assert len(pages_of(to_pdf("certificate", certificate_from(facts)))) <= most_pages
