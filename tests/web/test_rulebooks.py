"""The rulebooks' pages show every figure with its source, and what differs between two."""

import pytest

from app.rules.rulebooks import RULEBOOKS
from tests.cast import BrowseAs, World


@pytest.mark.parametrize("rulebook_id", RULEBOOKS)
def test_every_figure_stands_on_the_page(browse_as: BrowseAs, world: World, rulebook_id: str) -> None:
    text = browse_as(world.technician).get(f"/rulebooks/{rulebook_id}").text
    for figure in RULEBOOKS[rulebook_id].figures:
        assert figure.key.split(".")[0] and figure.unit_text in text
    assert text.count('data-label="Status"') == len(RULEBOOKS[rulebook_id].figures)
    assert "from memory" in text and "seen in the source" in text


def test_two_rulebooks_side_by_side(browse_as: BrowseAs, world: World) -> None:
    # As the sources say: up to the 4th edition 0.25 mA for Class II, in the 5th edition 5 mA for all.
    text = browse_as(world.owner).get("/rulebooks/compare?one=uk-2012&two=uk-2020").text
    assert "0.25 mA" in text and "5 mA" in text
    same = browse_as(world.owner).get("/rulebooks/compare?one=uk-2012&two=uk-2012").text
    assert "No difference" in same


def test_an_unknown_rulebook_is_missing(browse_as: BrowseAs, world: World) -> None:
    assert browse_as(world.owner).get("/rulebooks/uk-1066").status_code == 404
    assert browse_as(world.owner).get("/rulebooks/compare?one=uk-1066").status_code == 404
