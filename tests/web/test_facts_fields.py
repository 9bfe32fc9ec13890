"""The form part for the facts about an item: what is shown comes back as it was, and slips are caught at the field."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.checks import LEADS
from app.rules.equipment import Construction, Cord, ItemFacts, Kind, Rcd, Reel, Supply, Use
from app.rules.rcds import PRODUCTS
from app.web.facts_fields import NAMES, RCD_KINDS, list_facts_choices, list_facts_rows, new_facts, show_facts
from app.web.fields import Form

positive = st.decimals("0.1", "300", places=2)
reels = st.one_of(
    st.none(),
    st.builds(Reel, st.booleans(), st.booleans(), st.integers(1, 4)),
)
rcds = st.builds(
    Rcd, st.sampled_from([Decimal(10), Decimal(30), Decimal(100)]), st.sampled_from(PRODUCTS), st.booleans(),
    st.one_of(st.none(), positive),
)  # fmt: skip
cords = st.builds(
    Cord,
    st.one_of(st.none(), positive),
    st.one_of(st.none(), positive),
    st.booleans(),
    st.sampled_from([None, True, False]),
    st.booleans(),
)


@st.composite
def facts(draw: st.DrawFn) -> ItemFacts:
    """Facts as their kind has them: a lead has outlets and may be on a reel, and draws nothing itself."""
    kind = draw(st.sampled_from(Kind))
    is_lead, loads = kind in LEADS, kind not in LEADS and kind is not Kind.PORTABLE_RCD
    return ItemFacts(
        kind,
        draw(st.sampled_from(Construction)),
        draw(st.sampled_from(Use)),
        loads and draw(st.booleans()),
        draw(st.one_of(st.none(), positive)) if loads else None,
        draw(st.one_of(st.none(), positive)),
        draw(st.sampled_from(Supply)),
        draw(cords if kind in LEADS else st.one_of(st.none(), cords)),
        draw(st.sampled_from([None, Decimal(3), Decimal(13), Decimal("2.5")])),
        draw(rcds if kind in RCD_KINDS else st.one_of(st.none(), rcds)),
        *draw(st.tuples(st.booleans(), st.booleans(), st.booleans())),
        motor=loads and draw(st.booleans()),
        outlets=draw(st.integers(0, 8)) if is_lead else 0,
        reel=draw(reels) if is_lead else None,
        extra_low_voltage=draw(st.booleans()),
    )


@given(facts())
def test_what_the_fields_show_is_read_back_unchanged(kept: ItemFacts) -> None:
    values = show_facts(kept)
    assert set(values) == set(NAMES)
    form = Form(values)
    assert new_facts(form) == kept
    assert form.mistakes == {}


@given(facts())
def test_every_chosen_value_is_among_the_options(kept: ItemFacts) -> None:
    form = Form(show_facts(kept))
    for name, options in list_facts_choices(form).items():
        assert form.value(name) in ["", *dict(options)], name


@given(facts())
def test_the_facts_in_words_name_no_code(kept: ItemFacts) -> None:
    rows = dict(list_facts_rows(kept))
    assert rows["Construction"].startswith("Class ")
    assert not any("_" in text or "None," in text for text in rows.values())


@pytest.mark.parametrize(
    ("name", "typed", "sentence"),
    [
        ("rated_power_w", "abc", "Type a number such as 1.5"),
        ("rated_power_w", "-5", "below zero"),
        ("rated_power_w", "200000", "0.1 to 100000"),
        ("cord_length_m", "1.5.2", "one decimal point"),
        ("cord_length_m", "1,500", "two ways"),
        ("cord_csa_mm2", "thick", "Type a number"),
        ("fuse_a", "0", "0.1 to 125"),
        ("outlets", "four", "whole number from 0 to 50"),
        ("kind", "spaceship", "Choose one of these."),
        ("construction", "IV", "Choose one of these."),
        ("plug", "glued", "Choose one of these."),
        ("reel", "spool", "Choose one of these."),
        ("rcd_product", "EN 1", "Choose one of these."),
    ],
)
def test_a_slip_is_caught_at_its_field(name: str, typed: str, sentence: str) -> None:
    kind = Kind.EXTENSION_LEAD if name in ("outlets", "reel") else Kind.APPLIANCE
    form = Form(show_facts(ItemFacts(kind)) | {name: typed})
    new_facts(form)
    assert list(form.mistakes) == [name]
    assert sentence in form.mistakes[name]


def test_what_a_kind_does_not_have_is_left_out() -> None:
    form = Form(show_facts(ItemFacts()) | {"outlets": "4", "reel": "spool"})
    assert (new_facts(form).outlets, new_facts(form).reel, form.mistakes) == (0, None, {})


def test_a_comma_is_a_decimal_point() -> None:
    form = Form(show_facts(ItemFacts()) | {"cord_length_m": "1,5", "cord_csa_mm2": "0.75"})
    assert new_facts(form).cord == Cord(Decimal("0.75"), Decimal("1.5"))


@pytest.mark.parametrize("kind", LEADS)
def test_a_lead_has_a_cord(kind: Kind) -> None:
    form = Form({"kind": kind.value, "cord": "none", "rcd_rated_ma": "30"})
    new_facts(form)
    assert "choose attached or detachable" in form.mistakes["cord"]


@pytest.mark.parametrize("kind", RCD_KINDS)
def test_a_device_that_is_judged_by_its_rating_needs_it(kind: Kind) -> None:
    form = Form({"kind": kind.value})
    new_facts(form)
    assert "rcd_rated_ma" in form.mistakes
