"""Items proposed as recalled products: spelling is forgiven, neighbours in a range of models are not. Our own steps;
the pairs are invented, and judged as a person with the rating plate in hand would.
"""

from random import Random

import pytest
from rapidfuzz.distance import Levenshtein

from app.rules.recall_matches import (
    SCORE_LEAST,
    Candidate,
    check_listed,
    judge_match,
    list_matches,
    number_make_likeness,
    number_model_likeness,
)
from app.rules.recalls import (
    HitState,
    Notice,
    check_columns,
    describe_recall,
    list_notices,
    may_decide,
    parse_recall_file,
    suggest_columns,
)

KETTLE = Notice("Hobbin", "HK 220", product="Electric kettle", hazard="The base may catch fire.", reference="A12/0042")


@pytest.mark.parametrize(
    ("make", "model"),
    [("Hobbin", "HK 220"), ("HOBBIN LTD", "HK-220"), ("Hobin", "HK220"), ("Hobbinn", "hk 220"), ("Hóbbin", "H.K.220")],
)
def test_spelling_is_forgiven(make: str, model: str) -> None:
    match = judge_match(KETTLE, Candidate(make, model, description="Kettle"))
    assert match is not None and match.score >= 85
    assert any("make" in reason for reason in match.reasons) and any("model" in reason for reason in match.reasons)


@pytest.mark.parametrize(
    ("make", "model"),
    [
        ("Hobbin", "HK 221"),
        ("Hobbin", "HK 2200"),
        ("Corrie", "HK 220"),
        ("", ""),
        ("Hob", "HK 220"),
        ("Hobbin", "TX 220"),
    ],
)
def test_another_product_is_not_proposed(make: str, model: str) -> None:
    assert judge_match(KETTLE, Candidate(make, model, description="Kettle")) is None


def test_one_that_is_the_same_scores_most_and_says_so() -> None:
    match = judge_match(KETTLE, Candidate("Hobbin", "HK 220"))
    assert match is not None and match.score == 100
    assert match.reasons == ("make Hobbin is the same", "model HK 220 is the same")


def test_the_same_model_of_another_product_scores_less_and_says_so() -> None:
    match = judge_match(KETTLE, Candidate("Hobbin", "HK 220", description="Refrigerator"))
    assert match is not None and match.score == 85
    assert match.reasons[-1] == "it is called “Refrigerator”, the notice says “Electric kettle”"


def test_without_a_model_on_record_only_the_same_make_and_product_are_worth_a_look() -> None:
    match = judge_match(KETTLE, Candidate("Hobbin", "", description="Electric kettle"))
    assert match is not None and match.score == SCORE_LEAST
    assert "the model is not on record: look at the rating plate" in match.reasons
    assert judge_match(KETTLE, Candidate("Hobbin", "", description="Toaster")) is None


def test_serial_numbers_decide_where_only_some_are_recalled() -> None:
    some = Notice("Hobbin", "HK 220", serial="S10000-S19999; Z77881")

    def score(serial: str) -> int | None:
        match = judge_match(some, Candidate("Hobbin", "HK 220", serial=serial))
        return match.score if match else None

    assert score("S12345") == score("Z77881") == 100
    assert score("S25000") is None
    misread = judge_match(some, Candidate("Hobbin", "HK 220", serial="Z7788I"))
    assert misread is not None and misread.score == 90 and "read it again" in misread.reasons[-1]
    unknown = judge_match(some, Candidate("Hobbin", "HK 220"))
    assert unknown is not None and unknown.score == 95 and "look at the item" in unknown.reasons[-1]


def test_a_batch_finds_an_item_whose_make_nobody_wrote_down() -> None:
    match = judge_match(Notice("Hobbin", batch="2219-B"), Candidate(batch="2219B", description="Heater"))
    assert match is not None and match.score == 85 and match.reasons[0] == "the make is not on record"


@pytest.mark.parametrize(
    ("listed", "own", "found"),
    [
        ("1000 to 1999", "1500", True), ("1000-1999", "2000", False), ("A1000-A1999", "B1500", False),
        ("A1000–1999", "a1500", True), ("1000-1999", "12", False), ("1000-1999", "01500", False),
        ("77, 78 and 79", "78", True), ("", "78", False),
    ],
)  # fmt: skip
def test_ranges_hold_what_lies_in_them(listed: str, own: str, found: bool) -> None:
    assert (check_listed(listed, own) is not None) is found


def test_likeness_agrees_with_counting_edits() -> None:
    """For single words it is the share of letters that stay, by the edits that the same library counts another way."""
    for one, other in (("larkfell", "larkfel"), ("stonechat", "stonechatt"), ("marram", "morram")):
        by_edits = round(100 * Levenshtein.normalized_similarity(one, other))
        assert abs(number_make_likeness(one, other) - by_edits) <= 10
    assert number_make_likeness("AEG", "AEC") == 0  # three letters are a name of their own
    assert number_model_likeness("HK220, HK230 and HK240", "hk 230") == 100


def test_many_are_compared_as_one_by_one() -> None:
    random = Random(5)
    makes, models = ("Hobbin", "Hobin", "Corrie", "Corry", "Larkfell", ""), ("HK220", "HK 221", "T9", "", "Model 7")
    serials = ("", "S10500", "S30000", "Z77881")
    items = [
        (place, Candidate(random.choice(makes), random.choice(models), "", random.choice(serials), "Kettle"))
        for place in range(300)
    ]  # fmt: skip
    notices = [
        (1, KETTLE),
        (2, Notice("Corrie", "T9")),
        (3, Notice("Hobbin", serial="S10000-S19999")),
        (4, Notice("Larkfell")),
    ]
    alone = {
        (notice_id, item_id): match
        for notice_id, notice in notices
        for item_id, item in items
        if (match := judge_match(notice, item))
    }
    together = {(notice_id, item_id): match for notice_id, item_id, match in list_matches(notices, items)}
    assert together == alone and len(alone) > 20


def test_a_published_list_is_read_by_its_heads() -> None:
    content = (
        "Published by an authority;;;;\n"
        "Alert number;Brand;Type / model;Batch;Risk;Measures taken\n"
        "A12/0042;Hobbin;HK 220;;Fire;Recall from users\n"
        "A12/0043;;;;Fire;\n"
        "A12/0042;Hobbin;HK  220;;Fire;Recall from users\n"
    ).encode("cp1252")
    file = parse_recall_file(content)
    columns = suggest_columns(file)
    assert columns == {"reference": 0, "make": 1, "model": 2, "batch": 3, "hazard": 4, "advice": 5}
    notices, empty = list_notices(file, columns)
    assert empty == 1 and len(notices) == 1
    assert describe_recall(notices[0]) == "Recalled product (notice A12/0042): Hobbin HK 220: Fire"
    assert check_columns({"make": None, "model": 2}, 6) and check_columns({"make": 9}, 6)


def test_a_hit_goes_only_where_a_person_may_send_it() -> None:
    assert may_decide(HitState.PROPOSED, HitState.CONFIRMED) is None
    assert may_decide(HitState.DISMISSED, HitState.PROPOSED) is None
    for state, to in ((HitState.CONFIRMED, HitState.DISMISSED), (HitState.SETTLED, HitState.PROPOSED)):
        assert may_decide(state, to)
