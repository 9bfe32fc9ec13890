"""Checks the signature of a PDF with programs that share no code with the signer: openssl, and pdfsig of poppler."""

import re
import shutil
import subprocess
from datetime import UTC, datetime
from pathlib import Path

import pytest

from app.actions import signing_keys

SIGNED_AT = datetime(2026, 3, 4, 10, tzinfo=UTC)
_RANGE = re.compile(rb"/ByteRange\s*\[\s*(\d+)\s+(\d+)\s+(\d+)\s+(\d+)\s*\]")


def missing() -> str:
    """What the checks of signatures lack on this computer and how to get it; empty when all is there."""
    if shutil.which("pdfsig") is None or shutil.which("openssl") is None:
        return "no openssl or pdfsig here (Debian: apt-get install openssl poppler-utils)"
    return ""


def sample_key(folder: Path) -> bytes:
    """A key as the firm has one, kept in a folder as the firm keeps it."""
    content = signing_keys._new_key("Tarn & Alder Electrical Testing", SIGNED_AT)
    signing_keys._keep(folder / signing_keys.FILE, content, replacing=False)
    return content


def authority_of(key_pem: bytes) -> bytes:
    """The public certificate of the authority alone."""
    blocks = re.findall(rb"-----BEGIN CERTIFICATE-----.*?-----END CERTIFICATE-----\n", key_pem, re.S)
    authority: bytes = blocks[1]
    return authority


def openssl_says(pdf: bytes, authority: bytes, folder: Path) -> tuple[bool, str]:
    """Cut out what is signed and the signature, and let openssl verify it as CAdES under the firm's authority."""
    if reason := missing():
        pytest.skip(reason)
    found = _RANGE.search(pdf)
    assert found, "no signature in the file"
    start, length, again, rest = map(int, found.groups())
    assert (start, again + rest) == (0, len(pdf)), "the signature does not cover the whole file"
    digits = pdf[start + length + 1 : again - 1]
    files = {"signature": _trimmed(bytes.fromhex(digits.decode())), "authority": authority,
             "content": pdf[:length] + pdf[again:]}  # fmt: skip
    for name, content in files.items():
        (folder / name).write_bytes(content)
    command: list[str | Path] = ["openssl", "cms", "-verify", "-cades", "-binary", "-inform", "DER",
               "-in", folder / "signature",
               "-content", folder / "content", "-CAfile", folder / "authority", "-purpose", "any",
               "-attime", str(int(SIGNED_AT.timestamp())), "-out", folder / "out"]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    return done.returncode == 0, done.stderr


def pdfsig_says(pdf: bytes, folder: Path) -> str:
    """What pdfsig prints about a file."""
    if reason := missing():
        pytest.skip(reason)
    file = folder / "paper.pdf"
    file.write_bytes(pdf)
    return subprocess.run(["pdfsig", file], capture_output=True, text=True, check=False).stdout


def _trimmed(padded: bytes) -> bytes:
    """A DER structure without the zeros that fill its place in the file."""
    assert padded[0] == 0x30 and padded[1] == 0x82, "not a DER sequence of this size"
    return padded[: 4 + int.from_bytes(padded[2:4])]
