"""What must hold for every verdict, whatever the numbers: common sense of measurement, no source."""

from dataclasses import replace
from decimal import Decimal
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from app.rules.checks import CURRENTS, UNITS, Check
from app.rules.decisions import Band, DecisionRule, judge_value
from app.rules.entries import Decision
from app.rules.equipment import Construction, Cord, ItemFacts, Kind, Supply, Use
from app.rules.quantities import Bound, Reading, Unit, convert_reading
from app.rules.readings import Entry, judge_entry, judge_item
from app.rules.rulebooks import RULEBOOKS, HouseLimit, Rulebook
from app.rules.verdicts import Outcome, Verdict

MEASURED = (Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Check.INSULATION_RESISTANCE, *CURRENTS, Check.LOAD)
RANK = [Outcome.PASS, Outcome.CONDITIONAL_PASS, Outcome.INCONCLUSIVE, Outcome.CONDITIONAL_FAIL, Outcome.FAIL]

some_sizes = st.sampled_from([None, *map(Decimal, ("0.5", "0.75", "1.0", "1.25", "1.5", "2.5", "16", "0.9"))])
some_lengths = st.none() | st.decimals(0, 60, places=1)
cords = st.none() | st.builds(Cord, some_sizes, some_lengths, st.booleans(), st.booleans(), st.booleans())
items = st.builds(
    ItemFacts,
    kind=st.sampled_from(Kind),
    construction=st.sampled_from(Construction),
    use=st.sampled_from(Use),
    heating=st.booleans(),
    rated_power_w=st.none() | st.decimals(1, 12000, places=0),
    supply=st.sampled_from(Supply),
    cord=cords,
    fuse_a=st.none() | st.sampled_from([Decimal(3), Decimal(13)]),
)
books = st.sampled_from(list(RULEBOOKS.values()))
values = st.decimals(0, 20, places=4) | st.decimals(0, 1, places=4)
rules = st.builds(Decision, st.sampled_from(DecisionRule), st.decimals(0, "0.2", places=3))


def reading(check: Check, value: Decimal, bound: Bound = Bound.EXACT) -> Entry:
    return Entry(check, Reading(value, UNITS[check], bound))


@given(items, books, st.sampled_from(MEASURED), values, values, rules)
def test_a_better_reading_never_gets_a_worse_verdict(
    item: ItemFacts, book: Rulebook, check: Check, one: Decimal, other: Decimal, rule: Decision
) -> None:
    low, high = sorted((one, other))
    outcomes = [judge_entry(reading(check, value), item, book, rule).outcome for value in (low, high)]
    better, worse = outcomes if check is not Check.INSULATION_RESISTANCE else reversed(outcomes)
    assert RANK.index(better) <= RANK.index(worse)


@given(st.decimals(0, 2, places=3), st.decimals(0, 2, places=3), st.decimals(0, "0.3", places=3), values, values,
       st.sampled_from(DecisionRule))  # fmt: skip
def test_nearer_the_middle_of_two_limits_is_never_worse(
    least: Decimal, wide: Decimal, guard: Decimal, one: Decimal, other: Decimal, rule: DecisionRule
) -> None:
    band = Band(least, least + wide, guard)
    middle = least + wide / 2
    nearer, further = sorted((one, other), key=lambda value: abs(value - middle))
    outcomes = [judge_value(value, Bound.EXACT, band, rule) for value in (nearer, further)]
    assert RANK.index(outcomes[0]) <= RANK.index(outcomes[1])


@given(items, books, st.sampled_from(MEASURED), values, st.sampled_from(Bound), rules, st.sampled_from(Unit))
def test_a_change_of_unit_never_changes_a_verdict(
    item: ItemFacts, book: Rulebook, check: Check, value: Decimal, bound: Bound, rule: Decision, unit: Unit
) -> None:
    entry = reading(check, value, bound)
    if unit.dimension != UNITS[check].dimension:
        return
    assert entry.reading is not None
    moved = replace(entry, reading=convert_reading(entry.reading, unit))
    first, second = (judge_entry(each, item, book, rule) for each in (entry, moved))
    assert (first.outcome, first.margin) == (second.outcome, second.margin)


many = st.lists(st.tuples(st.sampled_from(MEASURED), values, st.sampled_from(Bound)), min_size=1, max_size=6)


@given(items, books, many, st.randoms(), st.booleans())
def test_the_order_of_entry_never_matters(
    item: ItemFacts, book: Rulebook, found: list[tuple[Check, Decimal, Bound]], chance: Random, partial: bool
) -> None:
    entries = [reading(*each) for each in found]
    turned = list(entries)
    chance.shuffle(turned)
    one, other = (judge_item(item, each, book, partial) for each in (entries, turned))
    assert (one.verdict, one.missing, one.locked, one.advice) == (
        other.verdict,
        other.missing,
        other.locked,
        other.advice,
    )
    told = [[(check.check, check.outcome, check.sentence) for check in verdict.checks] for verdict in (one, other)]
    assert told[0] == told[1]


own_limits = st.lists(
    st.builds(
        lambda check, value: HouseLimit(
            check, value, UNITS[check], check is Check.INSULATION_RESISTANCE, "ours", "2026-01-01"
        ),
        st.sampled_from(MEASURED),
        st.decimals(0, 5, places=2),
    ),
    max_size=3,
)


@given(items, books, many, own_limits, rules)
def test_a_house_limit_never_turns_a_fail_into_anything_better(
    item: ItemFacts, book: Rulebook, found: list[tuple[Check, Decimal, Bound]], own: list[HouseLimit], rule: Decision
) -> None:
    entries = [reading(*each) for each in found]
    for entry in entries:
        plain, strict = (judge_entry(entry, item, each, rule).outcome for each in (book, book.with_house(tuple(own))))
        assert RANK.index(strict) >= RANK.index(plain)
    plain_verdict = judge_item(item, entries, book, decision=rule).verdict
    if plain_verdict is Verdict.FAIL:
        assert judge_item(item, entries, book.with_house(tuple(own)), decision=rule).verdict is Verdict.FAIL


@given(items, books, st.lists(st.sampled_from(list(Check)), unique=True, max_size=12))
def test_nothing_missing_is_ever_a_pass(item: ItemFacts, book: Rulebook, done: list[Check]) -> None:
    entries = [Entry(check, outcome=Outcome.PASS) for check in done]
    verdict = judge_item(item, entries, book)
    assert verdict.verdict is not Verdict.PASS or not verdict.missing
    if verdict.missing and verdict.verdict is not Verdict.FAIL:
        assert verdict.verdict is Verdict.INCOMPLETE


@settings(max_examples=200)
@given(st.decimals(0, 3, places=3), st.sampled_from([Bound.ABOVE, Bound.BELOW]), st.sampled_from(DecisionRule),
       st.decimals(0, 3, places=3))  # fmt: skip
def test_a_bound_is_never_judged_better_than_a_true_value_it_could_hide(
    value: Decimal, bound: Bound, rule: DecisionRule, true: Decimal
) -> None:
    if (true <= value) is (bound is Bound.ABOVE):
        return
    band = Band(None, Decimal(1), Decimal("0.1"))
    told, real = judge_value(value, bound, band, rule), judge_value(true, Bound.EXACT, band, rule)
    if told is not Outcome.INCONCLUSIVE:
        assert RANK.index(told) >= RANK.index(real)
