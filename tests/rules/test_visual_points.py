"""Every point of the visual inspection has a word for lists of defects, and there is a place for anything else."""

import pytest

from app.rules.equipment import Construction, ItemFacts, Kind, Supply
from app.rules.visual_points import describe_point, list_points_to_mark, list_visual_points


@pytest.mark.parametrize("kind", list(Kind))
@pytest.mark.parametrize("supply", list(Supply))
def test_every_point_has_a_short_word_of_its_own(kind: Kind, supply: Supply) -> None:
    for construction in Construction:
        item = ItemFacts(kind=kind, supply=supply, construction=construction, motor=True)
        points = list_points_to_mark(item)
        words = [describe_point(point.code) for point in points]
        assert len(set(words)) == len(points)
        assert not set(words) & {point.code for point in points if "-" in point.code}
        assert [*list_visual_points(item)] == [*points[:-1]]


def test_an_unknown_code_is_given_back() -> None:
    assert describe_point("handle") == "handle"
