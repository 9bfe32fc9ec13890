"""The rulebooks' pages show every figure with its source, and what differs between two."""

import pytest

from app.rules.rulebooks import RULEBOOKS, Status
from tests.cast import BrowseAs, World
from tests.web.page_text import fields_of, words_of


@pytest.mark.parametrize("rulebook_id", RULEBOOKS)
def test_every_figure_stands_on_the_page(browse_as: BrowseAs, world: World, rulebook_id: str) -> None:
    text = browse_as(world.technician).get(f"/rulebooks/{rulebook_id}").text
    for figure in RULEBOOKS[rulebook_id].figures:
        assert figure.key.split(".")[0] and figure.unit_text in text
    assert text.count('data-label="Status"') == len(RULEBOOKS[rulebook_id].figures)
    assert "from memory" in text and "seen in the source" in text


def test_two_rulebooks_side_by_side(browse_as: BrowseAs, world: World) -> None:
    """As the sources say: up to the 4th edition 0.25 mA for Class II, in the 5th 5 mA for all; insulation alike."""
    technician = browse_as(world.technician)
    address = "/rulebooks/compare?one=uk-2012&two=uk-2020"
    words = words_of(technician.get(address))
    assert "Class II At most 0.25 mA Class II UK Code of Practice" in words and "At most 5 mA" in words
    assert "they agree" not in words and "Class III At least 0.25 MΩ" not in words
    assert "Class III they agree At least 0.25 MΩ" in words_of(technician.get(f"{address}&all=yes"))
    same = technician.get("/rulebooks/compare?one=uk-2012&two=uk-2012").text
    assert "No difference" in same


def test_a_rulebook_says_what_holds_and_who_uses_it(browse_as: BrowseAs, world: World) -> None:
    """EN 50699 asks for the protective conductor current; 0.3 Ω, then 0.1 Ω for each 7.5 m (DGUV 203-071)."""
    owner = browse_as(world.owner)
    page = owner.get("/rulebooks/en-50699")
    words = words_of(page)
    assert "At most 0.3 Ω up to 5 m of cord, + 0.1 Ω for each started 7.5 m beyond it, never above 1 Ω" in words
    assert "insulation resistance, protective conductor current" in words
    assert "not by the firm" in words and 'href="/settings/judging"' in page.text
    unchecked = owner.get("/rulebooks/en-50699?only=memory")
    wanted = [each for each in RULEBOOKS["en-50699"].figures if each.status is Status.MEMORY]
    assert unchecked.text.count('data-label="Status"') == len(wanted)


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
