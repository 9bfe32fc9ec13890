"""The rulebooks' pages show every figure with its source, and what differs between two."""

import pytest

from app.rules.rulebooks import RULEBOOKS
from tests.cast import BrowseAs, World
from tests.web.page_text import fields_of


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


def test_the_owner_chooses_how_a_rulebook_is_read(browse_as: BrowseAs, world: World) -> None:
    owner, path = browse_as(world.owner), "/rulebooks/en-50699"
    chosen = {"step-rounding": "whole", "contact-allowance": "with"}
    form = fields_of(owner.get(path))
    assert form["step-rounding"] == "started"
    assert owner.post(f"{path}/settings", form | chosen).status_code == 303
    assert fields_of(owner.get(path)).items() >= chosen.items()
    late = owner.post(f"{path}/settings", form | chosen)
    assert late.status_code == 409
    wrong = owner.post(f"{path}/settings", fields_of(owner.get(path)) | {"step-rounding": "sometimes"})
    assert wrong.status_code == 422 and "one of: started, whole" in wrong.text
    office = browse_as(world.office).get(path).text
    assert "Only each whole" in office and "step-rounding" not in office
