"""The authority for the local network: kept to its owner, kept to private names, renewed in time."""

import ipaddress
import os
import ssl
import stat
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from app.local_authority import LocalAuthority, is_private
from app.rules.verdicts import Refused

NOW = datetime(2026, 3, 4, 10, tzinfo=UTC)
NAMES, ADDRESSES = ("office-pc.local", "localhost"), ("192.168.1.20", "127.0.0.1")


def server_certificate(folder: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate((folder / "server.crt").read_bytes())


def test_keys_are_readable_to_nobody_else(tmp_path: Path) -> None:
    folder = tmp_path / "data" / "local-https"
    os.umask(0o022)
    LocalAuthority(folder).server_files(NAMES, ADDRESSES, NOW)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    for name in ("authority.key", "server.key"):
        assert stat.S_IMODE((folder / name).stat().st_mode) == 0o600
    assert {file.name for file in folder.iterdir()} == {"authority.key", "authority.crt", "server.key", "server.crt"}


def test_the_certificate_is_what_browsers_ask_for(tmp_path: Path) -> None:
    """RFC 5280, 4.2.1.9 and 4.2.1.10; at most 397 days (CA/Browser Forum Baseline Requirements, 6.3.2, as of 2020)."""
    files = LocalAuthority(tmp_path).server_files(NAMES, ADDRESSES, NOW)
    server, authority = server_certificate(tmp_path), files.authority
    server.verify_directly_issued_by(authority)
    assert server.not_valid_after_utc - server.not_valid_before_utc <= timedelta(days=397)
    told = server.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert told.get_values_for_type(x509.DNSName) == list(NAMES)
    assert told.get_values_for_type(x509.IPAddress) == [ipaddress.ip_address(each) for each in ADDRESSES]
    assert not server.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    of_authority = authority.extensions.get_extension_for_class(x509.BasicConstraints)
    assert of_authority.critical and of_authority.value.ca and of_authority.value.path_length == 0
    assert authority.extensions.get_extension_for_class(x509.NameConstraints).critical


def test_openssl_agrees(tmp_path: Path) -> None:
    """Judged by another implementation, at the moment for which it was made."""
    LocalAuthority(tmp_path).server_files(NAMES, ADDRESSES, NOW)
    command = [
        "openssl", "verify", "-x509_strict", "-attime", str(int(NOW.timestamp())), "-purpose", "sslserver", "-CAfile",
        str(tmp_path / "authority.crt"),
    ]  # fmt: skip
    for more, good in ((["-verify_ip", "192.168.1.20"], True), (["-verify_hostname", "office-pc.local"], True),
                       (["-verify_hostname", "elsewhere.local"], False)):  # fmt: skip
        answer = subprocess.run([*command, *more, str(tmp_path / "server.crt")], capture_output=True, text=True)
        assert (answer.returncode == 0) == good, answer.stderr


def test_what_fits_is_kept(tmp_path: Path) -> None:
    first = LocalAuthority(tmp_path).server_files(NAMES, ADDRESSES, NOW)
    serial = server_certificate(tmp_path).serial_number
    again = LocalAuthority(tmp_path).server_files(NAMES, ADDRESSES, NOW + timedelta(days=300))
    assert again.authority == first.authority
    assert server_certificate(tmp_path).serial_number == serial


@pytest.mark.parametrize(
    ("names", "addresses", "later"),
    [
        (NAMES, ("192.168.1.77", "127.0.0.1"), timedelta(0)),
        (("new-pc.local", "localhost"), ADDRESSES, timedelta(0)),
        (NAMES, ADDRESSES, timedelta(days=367)),
        (NAMES, ADDRESSES, timedelta(days=900)),
        (NAMES, ADDRESSES, timedelta(days=-30)),
    ],
    ids=["another address", "another name", "near its end", "long over", "a clock set back"],
)
def test_what_no_longer_fits_is_made_anew_by_the_same_authority(
    tmp_path: Path, names: tuple[str, ...], addresses: tuple[str, ...], later: timedelta
) -> None:
    first = LocalAuthority(tmp_path).server_files(NAMES, ADDRESSES, NOW)
    serial = server_certificate(tmp_path).serial_number
    files = LocalAuthority(tmp_path).server_files(names, addresses, NOW + later)
    made = server_certificate(tmp_path)
    assert files.authority == first.authority
    assert made.serial_number != serial
    assert made.not_valid_before_utc <= NOW + later < made.not_valid_after_utc - timedelta(days=30)


def test_a_server_certificate_never_outlives_its_authority(tmp_path: Path) -> None:
    LocalAuthority(tmp_path).server_files(NAMES, ADDRESSES, NOW)
    files = LocalAuthority(tmp_path).server_files(NAMES, ADDRESSES, NOW + timedelta(days=3600))
    assert files.until == files.authority.not_valid_after_utc


def test_an_authority_at_its_end_is_followed_by_another(tmp_path: Path) -> None:
    first = LocalAuthority(tmp_path).server_files(NAMES, ADDRESSES, NOW)
    later = LocalAuthority(tmp_path).server_files(NAMES, ADDRESSES, NOW + timedelta(days=3640))
    assert later.authority != first.authority
    server_certificate(tmp_path).verify_directly_issued_by(later.authority)


@pytest.mark.parametrize("damage", ["authority.key", "authority.crt"])
@pytest.mark.parametrize("content", [b"", b"-----BEGIN", None])
def test_a_damaged_authority_is_not_replaced_unseen(tmp_path: Path, damage: str, content: bytes | None) -> None:
    LocalAuthority(tmp_path).server_files(NAMES, ADDRESSES, NOW)
    if content is None:
        (tmp_path / damage).unlink()
    else:
        (tmp_path / damage).write_bytes(content)
    with pytest.raises(Refused, match="Move that folder away"):
        LocalAuthority(tmp_path).server_files(NAMES, ADDRESSES, NOW)


def test_key_and_certificate_of_two_authorities_are_refused(tmp_path: Path) -> None:
    for name in ("one", "two"):
        LocalAuthority(tmp_path / name).server_files(NAMES, ADDRESSES, NOW)
    (tmp_path / "one" / "authority.key").write_bytes((tmp_path / "two" / "authority.key").read_bytes())
    with pytest.raises(Refused, match="do not belong together"):
        LocalAuthority(tmp_path / "one").server_files(NAMES, ADDRESSES, NOW)


def forge(folder: Path, name: x509.GeneralName) -> ssl.SSLContext:
    """What somebody could do with a stolen authority key: a certificate for any name; as a server's TLS context."""
    authority = x509.load_pem_x509_certificate((folder / "authority.crt").read_bytes())
    key = serialization.load_pem_private_key((folder / "authority.key").read_bytes(), None)
    assert isinstance(key, ec.EllipticCurvePrivateKey)
    own, now = ec.generate_private_key(ec.SECP256R1()), datetime.now(UTC)
    certificate = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "forged")]))
        .issuer_name(authority.subject)
        .public_key(own.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=30))
        .add_extension(x509.SubjectAlternativeName([name]), critical=False)
        .sign(key, hashes.SHA256())
    )
    file = folder / "forged.pem"
    plain = serialization.NoEncryption()
    file.write_bytes(
        own.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, plain)
        + certificate.public_bytes(serialization.Encoding.PEM)
    )
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(file)
    return context


def shake_hands(server: ssl.SSLContext, trusted: Path | None, host: str) -> None:
    """A whole TLS handshake in memory. Raises SSLCertVerificationError where the client does not believe the server."""
    client = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    if trusted is not None:
        client.load_verify_locations(trusted)
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    sides = [client.wrap_bio(to_client, to_server, server_hostname=host), server.wrap_bio(to_server, to_client, True)]
    for _ in range(10):
        for side in list(sides):
            try:
                side.do_handshake()
                sides.remove(side)
            except ssl.SSLWantReadError:
                pass
        if not sides:
            return
    raise AssertionError("the handshake did not end")


@pytest.mark.parametrize(
    ("host", "name"),
    [
        ("www.example.com", x509.DNSName("www.example.com")),
        ("local.example.com", x509.DNSName("local.example.com")),
        ("notlocal", x509.DNSName("notlocal")),
        ("192.0.2.7", x509.IPAddress(ipaddress.ip_address("192.0.2.7"))),
        ("8.8.8.8", x509.IPAddress(ipaddress.ip_address("8.8.8.8"))),
    ],
)
def test_with_a_stolen_key_nothing_outside_can_be_forged(tmp_path: Path, host: str, name: x509.GeneralName) -> None:
    LocalAuthority(tmp_path).server_files(NAMES, ADDRESSES, datetime.now(UTC))
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        shake_hands(forge(tmp_path, name), tmp_path / "authority.crt", host)
    inside = forge(tmp_path, x509.DNSName("other.local"))
    shake_hands(inside, tmp_path / "authority.crt", "other.local")  # so it is the constraint that holds it back


def test_who_trusts_the_authority_believes_the_server_and_nobody_else_does(tmp_path: Path) -> None:
    files = LocalAuthority(tmp_path).server_files(NAMES, ADDRESSES, datetime.now(UTC))
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(files.certificate, files.key)
    for host in (*NAMES, *ADDRESSES):
        shake_hands(server, tmp_path / "authority.crt", host)
    with pytest.raises(ssl.SSLCertVerificationError):
        shake_hands(server, None, "office-pc.local")
    with pytest.raises(ssl.SSLCertVerificationError, match="Hostname mismatch"):
        shake_hands(server, tmp_path / "authority.crt", "elsewhere.local")


@pytest.mark.parametrize(
    ("address", "private"),
    [("192.168.1.20", True), ("10.0.0.1", True), ("172.31.255.1", True), ("172.32.0.1", False), ("169.254.7.7", True),
     ("127.0.0.1", True), ("8.8.8.8", False), ("192.0.2.2", False), ("fd00::2", True), ("2001:db8::1", False)],
)  # fmt: skip
def test_private_addresses_are_those_of_the_standards(address: str, private: bool) -> None:
    """RFC 1918, RFC 3927, RFC 4193."""
    assert is_private(address) == private
