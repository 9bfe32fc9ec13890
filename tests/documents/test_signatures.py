"""A signed paper: openssl and pdfsig find the signature good and a changed byte not; the drawing is unchanged."""

import random
from pathlib import Path

import pypdfium2
import pytest

from app.documents.certificate import certificate_from
from app.documents.pdf import to_pdf
from app.documents.signatures import signed_from
from tests.documents.reading_back import text_of
from tests.documents.sample_papers import certificate
from tests.signature_tools import SIGNED_AT, authority_of, openssl_says, pdfsig_says, sample_key

DATA = certificate_from(certificate(8, failing=1))


@pytest.fixture(scope="module")
def drawing() -> bytes:
    return to_pdf("certificate", DATA)


@pytest.fixture(scope="module")
def key(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return sample_key(tmp_path_factory.mktemp("keys"))


@pytest.fixture(scope="module")
def signed(drawing: bytes, key: bytes) -> bytes:
    return signed_from(drawing, key, SIGNED_AT)


def test_openssl_finds_the_signature_good(signed: bytes, key: bytes, tmp_path: Path) -> None:
    good, said = openssl_says(signed, authority_of(key), tmp_path)
    assert good, said


def test_pdfsig_finds_the_signature_good_and_over_the_whole_file(signed: bytes, tmp_path: Path) -> None:
    said = pdfsig_says(signed, tmp_path)
    for words in ("Signature is Valid", "Total document signed", "ETSI.CAdES.detached", "SHA-256",
                  "Tarn & Alder Electrical Testing"):  # fmt: skip
        assert words in said


def test_a_changed_byte_breaks_it_for_both(signed: bytes, key: bytes, tmp_path: Path) -> None:
    chance = random.Random(7)
    for _ in range(5):
        place = chance.randrange(2000, len(signed) - 14_000)
        changed = signed[:place] + bytes([signed[place] ^ 1]) + signed[place + 1 :]
        good, said = openssl_says(changed, authority_of(key), tmp_path)
        assert not good, place
        assert "digest" in said or "verification failure" in said
        assert "Signature is Valid" not in pdfsig_says(changed, tmp_path)


def test_another_firms_authority_does_not_vouch_for_it(signed: bytes, tmp_path: Path) -> None:
    other = sample_key(tmp_path / "other")
    good, _ = openssl_says(signed, authority_of(other), tmp_path)
    assert not good


def test_a_signed_paper_begins_with_its_drawing_byte_for_byte(drawing: bytes, signed: bytes, key: bytes) -> None:
    """So the same data are the same paper, although ECDSA takes a random number for each signature."""
    again = signed_from(to_pdf("certificate", DATA), key, SIGNED_AT)
    assert signed.startswith(drawing)
    assert again.startswith(drawing)
    assert again != signed


def test_signing_shows_nothing_on_the_pages(drawing: bytes, signed: bytes) -> None:
    plain, marked = (pypdfium2.PdfDocument(each) for each in (drawing, signed))
    assert text_of(drawing) == text_of(signed)
    for place in range(len(plain)):
        assert plain[place].render().to_pil().tobytes() == marked[place].render().to_pil().tobytes()
    assert "signed electronically in the name of Tarn & Alder Electrical Testing" in text_of(signed)
