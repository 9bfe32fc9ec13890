"""A remedy is kept as words and taken apart again without loss."""

import pytest

from app.rules.remedies import Remedy, describe_remedy, parse_remedy


@pytest.mark.parametrize("remedy", [*Remedy, None])
@pytest.mark.parametrize("more", ["", "Fit a new plug.", "Repair it."])
def test_what_is_described_is_read_back(remedy: Remedy | None, more: str) -> None:
    assert parse_remedy(describe_remedy(remedy, f"  {more} ")) == (remedy, more)


def test_each_remedy_says_what_to_do() -> None:
    assert describe_remedy(Remedy.REPAIR, "Fit a new plug.").endswith("before it is used. Fit a new plug.")
    assert len({remedy.sentence for remedy in Remedy}) == len(Remedy)
