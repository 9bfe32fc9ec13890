"""Every kind of paper is PDF/A-3a (ISO 19005-3) and PDF/UA-1 (ISO 14289-1) at once, in the judgement of veraPDF."""

from datetime import UTC, datetime

import pytest
import weasyprint

from app.documents.pdf import PAPERS
from app.documents.signatures import signed_from
from tests.documents.every_paper import SAMPLES
from tests.signature_tools import sample_key
from tests.verapdf import FLAVOURS, check_papers

PLAIN = "a plain page"


@pytest.fixture(scope="module")
def judged(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[str]]:
    """What veraPDF says of every sample as it is given out, signed, and of a plain page that promises nothing."""
    signed_at = datetime(2026, 3, 5, 10, tzinfo=UTC)
    key = sample_key(tmp_path_factory.mktemp("keys"))
    papers = {name: signed_from(draw(), key, signed_at) for name, draw in SAMPLES.items()}
    plain: bytes = weasyprint.HTML(string="<p>A plain page").write_pdf()
    return check_papers(papers | {PLAIN: plain}, tmp_path_factory.mktemp("papers"))


@pytest.mark.parametrize("flavour", FLAVOURS)
@pytest.mark.parametrize("name", SAMPLES)
def test_a_paper_is_archival_and_accessible(judged: dict[str, list[str]], name: str, flavour: str) -> None:
    assert judged[f"{name} {flavour}"] == []


@pytest.mark.parametrize("flavour", FLAVOURS)
def test_the_check_sees_a_paper_that_is_not(judged: dict[str, list[str]], flavour: str) -> None:
    assert judged[f"{PLAIN} {flavour}"]


def test_no_kind_of_paper_is_left_out() -> None:
    assert {name.split(",")[0] for name in SAMPLES} == set(PAPERS)
