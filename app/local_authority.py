"""A certificate authority of this computer's own, for HTTPS on the local network, and the server's certificate by it.

The authority can vouch for nothing but .local names, localhost and private addresses (name constraints, RFC 5280,
4.2.1.10), so that its key is of no use against anything outside. Server certificates last 397 days at most.
"""

import ipaddress
import os
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from app.rules.verdicts import Refused

#: Private addresses: RFC 1918, 3927 (link-local), 4193 (IPv6), and the computer itself.
PRIVATE = tuple(
    ipaddress.ip_network(text)
    for text in (
        "10.0.0.0/8",
        "172.16.0.0/12",
        "192.168.0.0/16",
        "169.254.0.0/16",
        "127.0.0.0/8",
        "fc00::/7",
        "::1/128",
    )
)
AUTHORITY_DAYS, SERVER_DAYS = 3650, 397
#: A clock that is a little behind on a tablet must not find the certificate too young.
SLACK = timedelta(days=1)
RENEW_BEFORE = timedelta(days=30)


@dataclass(frozen=True)
class ServerFiles:
    """Where the server's certificate and key are, and the authority that a tablet has to trust."""

    certificate: Path
    key: Path
    authority: x509.Certificate
    until: datetime


def is_private(address: str) -> bool:
    """Whether the authority can vouch for this address."""
    number = ipaddress.ip_address(address)
    return any(number in network for network in PRIVATE if network.version == number.version)


class LocalAuthority:
    """The authority in a folder of its own; it is made when it is first asked for."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.key_file, self.certificate_file = folder / "authority.key", folder / "authority.crt"

    def server_files(self, names: tuple[str, ...], addresses: tuple[str, ...], now: datetime) -> ServerFiles:
        """The server's certificate for these names and addresses: the one there is while it fits, else a new one."""
        self.folder.mkdir(parents=True, exist_ok=True)
        self.folder.chmod(0o700)
        authority, key = self._authority(now)
        files = self.folder / "server.crt", self.folder / "server.key"
        kept = _read(files[0]) if all(file.is_file() for file in files) else None
        if kept is None or not _fits(kept, authority, names, addresses, now):
            kept = self._sign_server(authority, key, names, addresses, now)
        return ServerFiles(*files, authority, kept.not_valid_after_utc)

    def _authority(self, now: datetime) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
        if not self.key_file.exists() and not self.certificate_file.exists():
            return self._make(now)
        try:
            certificate = x509.load_pem_x509_certificate(self.certificate_file.read_bytes())
            key = serialization.load_pem_private_key(self.key_file.read_bytes(), None)
        except (OSError, ValueError) as problem:
            raise Refused(
                f"The authority for tablets in {self.folder} is damaged. Move that folder away and start again; "
                "each tablet must then trust the new one."
            ) from problem
        if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != certificate.public_key():
            raise Refused(f"Key and certificate in {self.folder} do not belong together. Move that folder away.")
        if certificate.not_valid_after_utc - now < RENEW_BEFORE:
            return self._make(now)  # ten years on: each tablet has to trust the new one
        return certificate, key

    def _make(self, now: datetime) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
        key = ec.generate_private_key(ec.SECP256R1())
        name = _name(f"Ohmstead local authority, {now:%Y-%m-%d}")
        permitted = [
            x509.DNSName("local"),
            x509.DNSName("localhost"),
            *(x509.IPAddress(network) for network in PRIVATE),
        ]
        certificate = (
            _builder(name, name, key.public_key(), now, AUTHORITY_DAYS)
            .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
            .add_extension(_usage(signs=True), critical=True)
            .add_extension(x509.NameConstraints(permitted, None), critical=True)
            .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
            .sign(key, hashes.SHA256())
        )
        _write(self.key_file, _pem_of(key))
        _write(self.certificate_file, certificate.public_bytes(serialization.Encoding.PEM))
        return certificate, key

    def _sign_server(
        self,
        authority: x509.Certificate,
        authority_key: ec.EllipticCurvePrivateKey,
        names: tuple[str, ...],
        addresses: tuple[str, ...],
        now: datetime,
    ) -> x509.Certificate:
        key = ec.generate_private_key(ec.SECP256R1())
        numbers = [x509.IPAddress(ipaddress.ip_address(address)) for address in addresses]
        identifier = authority.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
        certificate = (
            _builder(
                _name(names[0]), authority.subject, key.public_key(), now, SERVER_DAYS, authority.not_valid_after_utc
            )
            .add_extension(x509.SubjectAlternativeName([*map(x509.DNSName, names), *numbers]), critical=False)
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(_usage(signs=False), critical=True)
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(identifier), critical=False)
            .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
            .sign(authority_key, hashes.SHA256())
        )
        _write(self.folder / "server.key", _pem_of(key))
        _write(self.folder / "server.crt", certificate.public_bytes(serialization.Encoding.PEM))
        return certificate


def _fits(
    kept: x509.Certificate,
    authority: x509.Certificate,
    names: tuple[str, ...],
    addresses: tuple[str, ...],
    now: datetime,
) -> bool:
    told = kept.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    has_names = set(told.get_values_for_type(x509.DNSName)) == set(names)
    has_numbers = {str(number) for number in told.get_values_for_type(x509.IPAddress)} == set(addresses)
    try:
        kept.verify_directly_issued_by(authority)
    except (ValueError, InvalidSignature):
        return False
    return has_names and has_numbers and kept.not_valid_before_utc <= now < kept.not_valid_after_utc - RENEW_BEFORE


def _read(file: Path) -> x509.Certificate | None:
    try:
        return x509.load_pem_x509_certificate(file.read_bytes())
    except ValueError:
        return None


def _builder(
    subject: x509.Name,
    issuer: x509.Name,
    key: ec.EllipticCurvePublicKey,
    now: datetime,
    days: int,
    at_most: datetime | None = None,
) -> x509.CertificateBuilder:
    begin = now - SLACK
    end = begin + timedelta(days=days)
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(begin)
        .not_valid_after(min(end, at_most) if at_most else end)
    )


def _name(words: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, words)])


def _usage(signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs, content_commitment=False, key_encipherment=False, data_encipherment=False,
        key_agreement=False, key_cert_sign=signs, crl_sign=signs, encipher_only=False, decipher_only=False,
    )  # fmt: skip


def _pem_of(key: ec.EllipticCurvePrivateKey) -> bytes:
    plain = serialization.NoEncryption()
    return key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, plain)


def _write(file: Path, content: bytes) -> None:
    """Put a file in its place, whole, readable to nobody else from its first byte on."""
    part = file.with_name(f".{file.name}.part")
    part.unlink(missing_ok=True)
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    part.replace(file)
