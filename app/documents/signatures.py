"""Signs a drawn paper with the firm's key: PAdES baseline B-B, invisible, because a visible mark breaks PDF/A.

The signature is written behind the drawing, as a PDF allows: a signed paper begins with the drawing, byte for byte.
ECDSA takes a random number, so two signings of one drawing differ behind it, and only there.
"""

import io
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from typing import Any

from asn1crypto import keys, pem, x509
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign import fields, signers
from pyhanko_certvalidator.registry import SimpleCertificateStore

FIELD = "Signature"


class _SignerAt(signers.PdfSigner):
    """Signs at a given moment instead of the computer's own, and in its own thread's loop."""

    def __init__(self, signed_at: datetime, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self._signed_at = signed_at

    def init_signing_session(self, *given: Any, **named: Any) -> Any:
        session = super().init_signing_session(*given, **named)
        session.system_time = self._signed_at
        return session


def signed_from(pdf: bytes, key_pem: bytes, signed_at: datetime) -> bytes:
    """Sign a PDF. key_pem holds the signer's private key, the signer's certificate and that of the authority."""
    found = [(kind, der) for kind, _, der in pem.unarmor(key_pem, multiple=True)]
    key = next(der for kind, der in found if kind == "PRIVATE KEY")
    own, authority = (x509.Certificate.load(der) for kind, der in found if kind == "CERTIFICATE")
    store = SimpleCertificateStore()  # type: ignore[no-untyped-call]
    store.register(authority)
    signer = signers.SimpleSigner(own, keys.PrivateKeyInfo.load(key), store)
    about = signers.PdfSignatureMetadata(
        field_name=FIELD,
        md_algorithm="sha256",
        subfilter=fields.SigSeedSubFilter.PADES,
        name=own.subject.native["organization_name"],
        reason="Issued",
    )
    writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
    # The library runs a loop of its own, which a thread that has one already would refuse.
    with ThreadPoolExecutor(1) as apart:
        signed = apart.submit(_SignerAt(signed_at, about, signer).sign_pdf, writer).result()
    content: bytes = signed.getvalue()
    return content
