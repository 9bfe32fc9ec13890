"""Numbers, sentences and places of pictures. Exact intervals are checked by the definition of Clopper and Pearson
(1934): at each end of the interval the tail of the binomial distribution holds half of what is left out.
"""

from datetime import date, timedelta
from decimal import Decimal
from math import comb

import pytest

from app.rules.equipment import Kind
from app.rules.failure_causes import FUSE, count_causes, describe_cause
from app.rules.failure_pictures import (
    TOO_FEW,
    describe_causes,
    describe_change,
    describe_failures,
    describe_failures_picture,
    list_outstanding_groups,
    list_shares,
    number_share,
)
from app.rules.month_pictures import (
    describe_ageing_picture,
    describe_due_picture,
    describe_money_picture,
    describe_workload_picture,
    list_months,
    list_years,
)
from app.rules.paces import list_paces
from app.rules.pictures import Column, Picture, Row, suggest_ticks
from app.rules.statements import Age
from app.rules.stories import StoryFacts, StoryYear, describe_story

TODAY = date(2026, 3, 4)


def tail(low: int, high: int, tested: int, rate: float) -> float:
    return sum(comb(tested, k) * rate**k * (1 - rate) ** (tested - k) for k in range(low, high + 1))


@pytest.mark.parametrize(("failed", "tested"), [(1, 10), (4, 80), (12, 113), (51, 591), (9, 10)])
def test_an_interval_ends_where_each_tail_holds_a_fortieth(failed: int, tested: int) -> None:
    share = number_share("", failed, tested)
    # The ends are rounded to a tenth of a percent, so the tails lie on either side of 0.025.
    for end, first, last in ((share.low, failed, tested), (share.high, 0, failed)):
        around = [tail(first, last, tested, float(end + step) / 100) for step in (Decimal("-0.05"), Decimal("0.05"))]
        assert min(around) <= 0.025 <= max(around)


def test_known_ends_of_intervals() -> None:
    """0 of 10 and 5 of 10: 30.85 % and 18.71 % to 81.29 %, as tables of exact limits have them (from memory)."""
    assert (number_share("", 0, 10).low, number_share("", 0, 10).high) == (Decimal("0.0"), Decimal("30.8"))
    assert (number_share("", 5, 10).low, number_share("", 5, 10).high) == (Decimal("18.7"), Decimal("81.3"))


def test_small_groups_are_too_few_to_tell() -> None:
    shares = list_shares([("deep fryer", 1, 2), ("kettle", 3, 80), ("never seen", 0, 0)])
    assert [share.name for share in shares] == ["deep fryer", "kettle"]
    assert list_outstanding_groups(shares) == ()
    assert TOO_FEW in describe_failures(shares)
    assert "4 of 82 items failed" in describe_failures(shares)


def test_a_group_that_clearly_fails_more_is_named() -> None:
    shares = list_shares([("leads", 30, 100), ("kettles", 2, 100), ("lamps", 3, 150)])
    assert [share.name for share in list_outstanding_groups(shares)] == ["leads"]
    told = describe_failures(shares)
    assert "More often than the others: leads with 30 of 100, 30.0 %" in told
    assert "the others together 5 of 250, 2.0 %" in told
    assert TOO_FEW not in told


def test_looking_at_many_groups_asks_for_more() -> None:
    """5 of 20 against 5 of 80: told apart by two groups' bounds less easily than the more groups there are."""
    alone = [("odd", 9, 30), ("rest", 10, 200)]
    many = [("odd", 9, 30), *((f"g{place}", 1, 20) for place in range(10))]
    assert [share.name for share in list_outstanding_groups(list_shares(alone))] == ["odd"]
    assert list_outstanding_groups(list_shares(many)) == ()


def test_no_failures_are_not_no_risk() -> None:
    # 1 - 0.025 ** (1 / 20) = 16.8 %, the end of the exact interval for none of 20.
    assert "may be as high as 16.8 %" in describe_failures(list_shares([("kettle", 0, 20)]))
    assert describe_failures([]) == "Nothing was tested in this time."


def test_a_change_over_years_is_only_told_beyond_chance() -> None:
    def years(*counts: tuple[int, int]) -> str:
        return describe_change([number_share(f"year {place}", *count) for place, count in enumerate(counts)])

    assert "fewer than before, by more than chance" in years((40, 100), (20, 100), (5, 100))
    assert "more than before, by more than chance" in years((5, 100), (40, 100))
    assert TOO_FEW in years((3, 40), (5, 40))
    assert "one year" in years((3, 40))


def test_causes_count_an_item_once_each() -> None:
    rows = [("visual", "plug-body", 1), ("visual", "plug-grip", 1), ("visual", "plug-fuse", 2),
            ("insulation-resistance", "", 1), ("visual", "", 3)]  # fmt: skip
    assert dict(count_causes(rows)) == {
        "a plug seen to be faulty": 1, FUSE: 1, "insulation resistance": 1, "something else seen to be wrong": 1,
    }  # fmt: skip
    assert describe_cause("rcd-trip-time") == "RCD trip time"
    clear = [number_share("a plug seen to be faulty", 80, 100), number_share("polarity", 5, 100)]
    assert "clearly more than polarity (5 of 100)" in describe_causes(clear, 100)
    assert TOO_FEW in describe_causes([number_share("a", 2, 5), number_share("b", 1, 5)], 5)


def test_months_and_years_follow_the_calendar() -> None:
    assert list_months(date(2026, 11, 30), 3) == (date(2026, 11, 1), date(2026, 12, 1), date(2027, 1, 1))
    assert list_months(date(2026, 2, 28), -3) == (date(2025, 11, 1), date(2025, 12, 1), date(2026, 1, 1))
    spans = list_years(date(2028, 2, 29))
    assert spans[-1] == (date(2027, 3, 1), date(2028, 2, 29))
    for (_, ends), (starts, _) in zip(spans, spans[1:], strict=False):
        assert starts - ends == timedelta(days=1)


def test_items_due_are_all_somewhere() -> None:
    by_day = {TODAY - timedelta(days=1): 3, TODAY: 10, date(2026, 6, 30): 40, date(2027, 2, 28): 2, date(2027, 3, 1): 7}
    picture = describe_due_picture(by_day, TODAY)
    assert sum(int(row[1]) for row in picture.table) == 62
    assert picture.table[0] == ("Overdue", "3") and picture.table[-1] == ("Later", "7")
    assert "52 items fall due from today to the end of February 2027" in picture.sentence
    assert "the fullest month is June 2026 with 40 (77 %). 3 items are overdue." in picture.sentence
    assert "too few to speak of a fullest month" in describe_due_picture({TODAY: 4}, TODAY).sentence
    assert describe_due_picture({}, TODAY).is_empty


def test_work_is_in_the_same_measure_behind_and_ahead() -> None:
    steps = [(Kind.APPLIANCE, 360)] * 30 + [(Kind.EXTENSION_LEAD, 180)] * 30
    paces, kettle, lead = list_paces(steps), Kind.APPLIANCE, Kind.EXTENSION_LEAD
    tested = [(date(2026, 2, 10), kettle, 15), (date(2026, 2, 11), lead, 10), (TODAY, kettle, 5)]
    due = [(date(2026, 1, 1), kettle, 10), (date(2026, 9, 9), kettle, 200)]
    picture = describe_workload_picture([*tested, (date(2024, 1, 1), kettle, 900)], due, paces, TODAY)
    table = {row[0]: row[1:] for row in picture.table}
    assert table["February 2026"] == ("2 h 00 min", "")
    assert table["March 2026"] == ("0 h 30 min", "1 h 00 min")
    assert table["September 2026"] == ("", "20 h")
    assert "Behind: 2 h 00 min on site" in picture.sentence and "September 2026 with 20 h" in picture.sentence


def test_money_adds_up() -> None:
    picture = describe_money_picture({date(2026, 1, 9): 12000, TODAY: -2000}, {date(2026, 2, 1): 5000}, TODAY)
    assert len(picture.table) == 12 and picture.table[0][0] == "April 2025"
    assert "£100.00 was invoiced and £50.00 came in, 50 % of it" in picture.sentence
    assert picture.table[-1] == ("March 2026", "−£20.00", "£0.00")
    aged = describe_ageing_picture({Age.NOT_DUE: 3000, Age.OLDER: 1000}, 2)
    assert "£40.00 is owed by 2 customers; £10.00 of it, 25 %, is overdue." in aged.sentence
    assert describe_ageing_picture({}, 0).is_empty


def test_a_story_is_told_from_its_facts() -> None:
    spans = list_years(TODAY)
    years = tuple(
        StoryYear(*span, visits=1, tested=50, failed=failed) for span, failed in zip(spans, (9, 5, 1), strict=True)
    )
    found = TODAY - timedelta(days=100)
    defects = [(found, found + timedelta(days=days)) for days in (3, 8, 90)] + [(found, None), (date(2001, 1, 1), None)]
    facts = StoryFacts(
        years, [("polarity", "", 1)], [("appliance", 9, 50)], 10, defects, {TODAY: 50}, items=60, out_of_use=1
    )  # fmt: skip
    story = describe_story(facts, TODAY)
    assert story.sentences == (
        "4 defects found; 3 put right and passed at a retest, half of them within 8 days, 1 still open.",
        "1 item is out of use and waits to be put right.",
    )
    assert [picture.title for picture in story.pictures][0] == "Failures, year by year"
    assert ("50", "tested in the last year") in story.figures
    assert describe_story(
        StoryFacts(tuple(StoryYear(*span, 0, 0, 0) for span in spans), [], [], 0, [], {}, 0, 0), TODAY
    ).is_empty


def test_ticks_are_round_and_reach_the_highest() -> None:
    for highest in map(Decimal, ("0.4", "1", "7", "98.7", "100", "12345")):
        ticks = suggest_ticks(highest)
        assert ticks[-1] >= highest > ticks[-2]
        assert 2 <= len(ticks) <= 6
        assert (ticks[1] / Decimal(10) ** ticks[1].adjusted()) in (1, 2, 5)


@pytest.mark.parametrize("width", [340, 560])
def test_every_mark_stands_inside_its_picture(width: int) -> None:
    rows = describe_failures_picture("T", "What", list_shares([(f"g{n}", n, 20) for n in range(21)])).drawn(width)
    assert len(rows.rows) == 12
    for placed in rows.rows:
        assert 0 <= placed.low_x <= placed.x <= placed.high_x <= width
        assert placed.y < rows.base < rows.height
    columns = tuple(Column(str(n), (Decimal(n), Decimal(24 - n)), "") for n in range(25))
    drawn = Picture("T", "S", (), (), columns=columns).drawn(width)
    assert drawn.across[0][1] == "0" and drawn.across[-1][1] == "24"
    tallest = max(drawn.bars, key=lambda bar: bar.height)
    for bar in drawn.bars:
        assert bar.x > 0 and bar.x + bar.width < width and bar.y + bar.height == drawn.base
    heights = {bar.word: bar.height for bar in drawn.bars}
    assert heights and tallest.height == max(bar.height for bar in drawn.bars)
    # Twice the value is twice the height, to a unit.
    twelve, six = (next(bar for bar in drawn.bars[:50] if bar is drawn.bars[2 * n]) for n in (12, 6))
    assert abs(twelve.height - 2 * six.height) <= 2


def test_a_row_shows_its_own_value() -> None:
    picture = Picture("T", "S", (), (), rows=(Row("a", Decimal(25), Decimal(10), Decimal(100), "1 of 4"),))
    placed = picture.drawn(516).rows[0]
    assert (placed.low_x, placed.x, placed.high_x) == (58, 133, 508)
