"""`serve --lan` as it runs: TLS for those who trust it, Secure cookies, its own names, renewal without a restart."""

import json
import re
import socket
import ssl
import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from shutil import copyfile

import httpx
import pytest
import uvicorn
import zeroconf
from cryptography import x509
from cryptography.hazmat.primitives import hashes

from app.actions.backups import back_up
from app.actions.deeds import Desk
from app.local_authority import is_private
from app.local_names import Announcement, find_addresses, find_name
from app.local_server import LocalServer
from app.rules.verdicts import Refused
from app.settings import Settings
from app.store.database import Database
from tests.cast import LONDON, PASSWORD, make_world
from tests.servers import RunningApp, running_app

#: Seconds a client waits for an answer: long, since a busy computer is no fault.
PATIENCE = 60


@pytest.fixture(scope="module")
def lan_app(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningApp]:
    """The app on the local network of this computer alone, with a firm in it."""
    folder = tmp_path_factory.mktemp("lan")
    copyfile(sqlite_template, folder / "ohmstead.db")
    database = Database(f"sqlite:///{folder / 'ohmstead.db'}")
    make_world(Desk(database, folder / "papers", "", LONDON))
    database.close()
    with running_app(folder, "--lan", "--host", "127.0.0.1") as app:
        yield app


def port_of(app: RunningApp) -> int:
    return int(app.address.rsplit(":", 1)[1])


def trusting(app: RunningApp) -> httpx.Client:
    """A client that trusts the authority, as a tablet that has taken it up."""
    context = ssl.create_default_context(cafile=app.data_folder / "local-https" / "authority.crt")
    return httpx.Client(base_url=f"https://127.0.0.1:{port_of(app)}", verify=context, trust_env=False, timeout=PATIENCE)


def plain(app: RunningApp) -> httpx.Client:
    return httpx.Client(base_url=f"http://127.0.0.1:{port_of(app) + 1}", trust_env=False, timeout=PATIENCE)


def sign_in(client: httpx.Client) -> httpx.Response:
    found = re.search(r'name="csrf" value="([^"]+)"', client.get("/sign-in").text)
    assert found
    fields = {"csrf": found[1], "email": "bea@tarn-alder.example", "password": PASSWORD}
    return client.post("/sign-in", data=fields)


def test_it_says_where_it_is_and_what_to_compare(lan_app: RunningApp) -> None:
    authority = x509.load_pem_x509_certificate((lan_app.data_folder / "local-https" / "authority.crt").read_bytes())
    printed = lan_app.printed
    assert f"https://127.0.0.1:{port_of(lan_app)}" in printed
    assert f"http://127.0.0.1:{port_of(lan_app) + 1}/trust" in printed
    assert authority.fingerprint(hashes.SHA256()).hex(":").upper() in printed
    assert "▄" in printed


def test_who_trusts_the_authority_is_let_in_and_gets_secure_cookies(lan_app: RunningApp) -> None:
    with trusting(lan_app) as client:
        answer = sign_in(client)
        assert answer.status_code == 303
        cookies = [value for name, value in answer.headers.multi_items() if name == "set-cookie"]
        assert cookies and all("Secure" in cookie and "HttpOnly" in cookie for cookie in cookies)
        page = client.get("/tablets")
        assert page.status_code == 200
        shown = re.findall(r"<span>([0-9A-F]{2})</span>", page.text)
        assert len(shown) == 32 and ":".join(shown) in lan_app.printed
        assert "strict-transport-security" not in page.headers


def test_who_does_not_trust_it_is_warned(lan_app: RunningApp) -> None:
    with httpx.Client(trust_env=False) as client, pytest.raises(httpx.ConnectError, match="CERTIFICATE_VERIFY_FAILED"):
        client.get(f"https://127.0.0.1:{port_of(lan_app)}/health")


def test_old_tls_is_not_spoken(lan_app: RunningApp) -> None:
    """RFC 8996: TLS 1.0 and 1.1 are not used any more."""
    context = ssl.create_default_context(cafile=lan_app.data_folder / "local-https" / "authority.crt")
    context.minimum_version = ssl.TLSVersion.TLSv1
    context.maximum_version = ssl.TLSVersion.TLSv1_1
    context.set_ciphers("ALL:@SECLEVEL=0")
    with socket.create_connection(("127.0.0.1", port_of(lan_app))) as link, pytest.raises(ssl.SSLError) as refused:
        context.wrap_socket(link, server_hostname="127.0.0.1")
    assert refused.value.reason != "NO_PROTOCOLS_AVAILABLE", "it is the server that ends it"
    context.minimum_version = context.maximum_version = ssl.TLSVersion.TLSv1_2
    with socket.create_connection(("127.0.0.1", port_of(lan_app))) as link:
        assert context.wrap_socket(link, server_hostname="127.0.0.1").version() == "TLSv1.2"


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8765", "192.168.77.1", "office.local.evil.example"])
def test_it_answers_to_its_own_names_only(lan_app: RunningApp, host: str) -> None:
    with trusting(lan_app) as client:
        assert client.get("/health").status_code == 200
        assert client.get("/sign-in", headers={"Host": host}).status_code == 403
        assert client.get("/sign-in", headers={"Host": f"{find_name()}:{port_of(lan_app)}"}).status_code == 200


def test_a_write_is_taken_from_its_own_origin_only(lan_app: RunningApp) -> None:
    with trusting(lan_app) as client:
        sign_in(client)
        token = re.search(r'name="csrf" value="([^"]+)"', client.get("/password").text)
        assert token
        origin = f"http://127.0.0.1:{port_of(lan_app) + 1}"
        assert client.post("/sign-out", data={"csrf": token[1]}, headers={"Origin": origin}).status_code == 403
        own = f"https://127.0.0.1:{port_of(lan_app)}"
        assert client.post("/sign-out", data={"csrf": token[1]}, headers={"Origin": own}).status_code == 303


def test_by_plain_http_comes_what_is_needed_to_trust_it_and_nothing_else(lan_app: RunningApp) -> None:
    with plain(lan_app) as client:
        assert "Let this device trust" in client.get("/trust").text
        authority = client.get("/trust/ohmstead-authority.crt")
        assert authority.headers["content-type"] == "application/x-x509-ca-cert"
        kept = (lan_app.data_folder / "local-https" / "authority.crt").read_bytes()
        assert x509.load_der_x509_certificate(authority.content) == x509.load_pem_x509_certificate(kept)
        assert b"PRIVATE" not in authority.content
        assert client.get("/static/css/base.css").status_code == 200
        for path in ("/", "/sign-in", "/health", "/customers", "/api/description.json"):
            answer = client.get(path)
            assert (answer.status_code, answer.headers["location"], answer.content) == (303, "/trust", b"")
        assert client.post("/sign-in", data={}).status_code == 404
        assert not client.cookies


def test_the_key_is_in_no_backup(lan_app: RunningApp, tmp_path: Path) -> None:
    folder = lan_app.data_folder
    database = Database(f"sqlite:///{folder / 'ohmstead.db'}")
    back_up(database, folder / "papers", tmp_path / "backup", datetime.now(UTC))
    database.close()
    manifest = json.loads((tmp_path / "backup" / "manifest.json").read_text("utf-8"))
    assert not [name for name in manifest["files"] if "key" in name or "https" in name]


class MovingClock:
    """A clock that a test can set forward."""

    def __init__(self) -> None:
        self.forward = timedelta(0)

    def __call__(self) -> datetime:
        return datetime.now(UTC) + self.forward


def served_certificate(port: int) -> x509.Certificate:
    return x509.load_pem_x509_certificate(ssl.get_server_certificate(("127.0.0.1", port)).encode())


def test_the_certificate_is_renewed_and_follows_the_address_while_running(sqlite_url: str, tmp_path: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    addresses, clock = ["192.168.1.20"], MovingClock()
    settings = Settings(data_folder=tmp_path, database=sqlite_url, port=port)
    local = LocalServer(settings, addresses=lambda: tuple(addresses), clock=clock)
    local.host = "127.0.0.1"  # listens here alone, whatever addresses it is told of
    server = uvicorn.Server(local.prepare())
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.05)
    try:
        first = served_certificate(port)
        assert not local.look_again()
        assert served_certificate(port) == first
        addresses[0] = "192.168.1.77"
        assert local.look_again()
        moved = served_certificate(port)
        told = moved.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        assert "192.168.1.77" in {str(each) for each in told.get_values_for_type(x509.IPAddress)}
        assert local.app is not None and "192.168.1.77" in local.app.state.local_network.hosts
        clock.forward = timedelta(days=370)
        assert local.look_again()
        renewed = served_certificate(port)
        assert renewed.not_valid_after_utc > moved.not_valid_after_utc + timedelta(days=300)
        addresses.clear()
        assert not local.look_again(), "out of every network for a moment"
        assert served_certificate(port) == renewed
    finally:
        server.should_exit = True
        thread.join(10)


def test_papers_keep_the_configured_address(sqlite_url: str, tmp_path: Path) -> None:
    for configured, expected in (("https://office.example", "https://office.example"), ("", "https://127.0.0.1:8765")):
        local = LocalServer(Settings(data_folder=tmp_path, database=sqlite_url, address=configured), "127.0.0.1")
        local.prepare()
        assert local.app is not None
        assert local.app.state.desk.public_address == expected
        assert ("office.example" in local.network.hosts) == bool(configured)
        local.app.state.desk.database.close()


@pytest.mark.parametrize("addresses", [(), ("8.8.8.8",)])
def test_without_a_local_network_it_says_so(sqlite_url: str, tmp_path: Path, addresses: tuple[str, ...]) -> None:
    with pytest.raises(Refused, match="no address on a local network"):
        LocalServer(Settings(data_folder=tmp_path, database=sqlite_url), addresses=lambda: addresses)


def test_a_new_firm_can_be_trusted_before_it_is_set_up(tmp_path: Path) -> None:
    with running_app(tmp_path / "data", "--lan", "--host", "127.0.0.1") as app, plain(app) as client:
        assert client.get("/trust").status_code == 200
        assert client.get("/trust/ohmstead-authority.crt").status_code == 200
        assert "/set-up and enter this code once" in app.printed


def test_names_and_addresses_are_those_of_this_computer() -> None:
    assert re.fullmatch(r"[a-z0-9-]{1,63}\.local", find_name())
    for address in find_addresses():
        assert is_private(address)
        with socket.socket() as here:
            here.bind((address, 0))  # only an address of this computer can be bound


@pytest.mark.parametrize(
    ("host", "name"),
    [
        ("Office_PC.lan", "office-pc.local"),
        ("büro", "b-ro.local"),
        ("", "ohmstead.local"),
        ("x" * 70, "x" * 63 + ".local"),
    ],
)
def test_a_name_is_made_fit_for_the_network(monkeypatch: pytest.MonkeyPatch, host: str, name: str) -> None:
    monkeypatch.setattr(socket, "gethostname", lambda: host)
    assert find_name() == name


def test_the_name_is_announced_and_taken_back() -> None:
    """Asked for by a second multicast DNS speaker (RFC 6762), on this computer alone."""
    announcement = Announcement(["127.0.0.1"])
    name = "ohmstead-test.local"
    service = f"Ohmstead at {name.removesuffix('.local')}._https._tcp.local."
    assert announcement.tell(name, ("192.168.1.20",), 8765)
    asker = zeroconf.Zeroconf(interfaces=["127.0.0.1"], ip_version=zeroconf.IPVersion.V4Only)
    try:
        found = asker.get_service_info("_https._tcp.local.", service, timeout=10_000)
        assert found is not None
        assert (found.server, found.port, found.parsed_addresses()) == (f"{name}.", 8765, ["192.168.1.20"])
        announcement.end()
        asker.cache.cache.clear()
        assert asker.get_service_info("_https._tcp.local.", service, timeout=1000) is None
    finally:
        announcement.end()
        asker.close()
