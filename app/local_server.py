"""`serve --lan`: the app by HTTPS on the local network; beside it, by plain HTTP, how a tablet comes to trust it."""

import io
import sys
import threading
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any
from urllib.parse import urlsplit

import segno
import uvicorn
from cryptography.hazmat.primitives import hashes, serialization
from fastapi import FastAPI

from app.local_authority import LocalAuthority, is_private
from app.local_names import Announcement, find_addresses, find_name, is_announced_by_system
from app.main import create_app
from app.rules.tablets import LocalNetwork
from app.rules.verdicts import Refused
from app.settings import Settings

LOOK_AGAIN_SECONDS = 300
LOOPBACK = ("127.0.0.1", "localhost")


def _now() -> datetime:
    return datetime.now(UTC)


class LocalServer:
    """The app on the local network. The certificate follows the addresses, and is renewed without a restart."""

    def __init__(
        self,
        settings: Settings,
        host: str = "",
        addresses: Callable[[], tuple[str, ...]] = find_addresses,
        clock: Callable[[], datetime] = _now,
    ) -> None:
        """host: the one address to listen on; empty for all."""
        self.settings, self.host, self.clock = settings, host or "0.0.0.0", clock
        self._addresses = (lambda: (host,)) if host else addresses
        self.authority = LocalAuthority(settings.data_folder / "local-https")
        self.announcement = Announcement()
        self.app: FastAPI | None = None
        self.config: uvicorn.Config | None = None
        self._is_announced = False
        self.network = self._look()

    def prepare(self, set_up_code: str = "") -> uvicorn.Config:
        """Make the app and its TLS server. Papers name the configured address; where there is none, the one here."""
        if self.host not in LOOPBACK:
            told = self.announcement.tell(find_name(), self.network.addresses, self.settings.port)
            self._is_announced = told or is_announced_by_system()
            self.network = self._look()
        settings = replace(self.settings, address=self.settings.address or self.network.address)
        self.app = create_app(settings, set_up_code=set_up_code)
        self.app.state.local_network = self.network
        self.config = uvicorn.Config(
            self.app, host=self.host, port=self.settings.port, log_level="warning", server_header=False,
            proxy_headers=False, timeout_graceful_shutdown=5, ssl_certfile=str(self.authority.folder / "server.crt"),
            ssl_keyfile=str(self.authority.folder / "server.key"),
        )  # fmt: skip
        self.config.load()
        return self.config

    def run(self, set_up_code: str = "") -> None:
        """Serve until stopped."""
        config = self.prepare(set_up_code)
        beside = uvicorn.Config(
            OnlyTrust(self), host=self.host, port=self.network.trust_port, log_level="warning", lifespan="off",
            server_header=False, proxy_headers=False,
        )  # fmt: skip
        stopped = threading.Event()
        threading.Thread(target=uvicorn.Server(beside).run, daemon=True).start()
        threading.Thread(target=self._keep_looking, args=(stopped,), daemon=True).start()
        print(self.account(), flush=True)
        try:
            uvicorn.Server(config).run()
        finally:
            stopped.set()
            self.announcement.end()

    def look_again(self) -> bool:
        """Renew the certificate if its time is near or the addresses have changed; whether anything is new.

        Connections that are made from now on get the new one.
        """
        before = self.network
        try:
            self.network = self._look()
        except Refused:
            return False  # out of every network for the moment: what is there stays
        if self.network == before or self.app is None or self.config is None or self.config.ssl is None:
            return False
        files = self.authority.folder
        self.config.ssl.load_cert_chain(files / "server.crt", files / "server.key")
        self.app.state.local_network = self.network
        if self.network.addresses != before.addresses and self.host not in LOOPBACK:
            self.announcement.tell(find_name(), self.network.addresses, self.settings.port)
        return True

    def account(self) -> str:
        """What is printed at the start: where, how a tablet gets there, and what to compare."""
        network = self.network
        lines = [
            f"Ohmstead is on the local network at {network.address}",
            *([f"  or by number at {network.number_address}"] if network.address != network.number_address else []),
            f"A tablet that does not know it yet begins at {network.trust_address}",
            _drawn(network.trust_address),
            f"It must trust the authority with this fingerprint (SHA-256):\n  {network.fingerprint}",
            f"The page Tablets in the app says all this again. Data in {self.settings.data_folder}. Stop with Ctrl+C.",
        ]
        if not network.name:
            lines.append(
                "Nobody here announces a name, so tablets use the number, which may change. "
                "Give this computer a fixed address, or: .venv/bin/python -m pip install zeroconf"
            )
        return "\n".join(line for line in lines if line)

    def _look(self) -> LocalNetwork:
        addresses = tuple(address for address in self._addresses() if is_private(address))
        if not addresses:
            raise Refused(
                "This computer has no address on a local network (10…, 172.16…, 192.168…). Connect it to the network, "
                "or name one of its addresses with --host."
            )
        name = find_name()
        numbers = tuple(dict.fromkeys((*addresses, "127.0.0.1")))
        files = self.authority.server_files((name, "localhost"), numbers, self.clock())
        other = urlsplit(self.settings.address).hostname or ""
        pairs = files.authority.fingerprint(hashes.SHA256()).hex(":").upper()
        return LocalNetwork(
            name=name if self._is_announced else "",
            addresses=addresses,
            port=self.settings.port,
            trust_port=self.settings.port + 1,
            authority=files.authority.public_bytes(serialization.Encoding.DER),
            fingerprint=pairs,
            authority_until=files.authority.not_valid_after_utc.date(),
            server_until=files.until.date(),
            other_hosts=tuple(filter(None, (other, name))),
        )

    def _keep_looking(self, stopped: threading.Event) -> None:
        while not stopped.wait(LOOK_AGAIN_SECONDS):
            if self.look_again():
                print(f"The address or certificate is new: {self.network.address}", flush=True)


class OnlyTrust:
    """What answers by plain HTTP: the page on trusting, the authority's public part, and nothing else of the app."""

    def __init__(self, server: LocalServer) -> None:
        self.server = server

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        path = scope.get("path", "")
        if scope["type"] == "http" and scope["method"] in ("GET", "HEAD"):
            if path in ("/trust", "/trust/ohmstead-authority.crt") or path.startswith("/static/"):
                assert self.server.app is not None
                await self.server.app(scope, receive, send)
                return
            there = b"/trust"
            await send({"type": "http.response.start", "status": 303, "headers": [(b"location", there)]})
            await send({"type": "http.response.body", "body": b""})
        elif scope["type"] == "http":
            await send({"type": "http.response.start", "status": 404, "headers": []})
            await send({"type": "http.response.body", "body": b""})


def _drawn(address: str) -> str:
    """The address as a QR code of half blocks, where the terminal can show them."""
    out = io.StringIO()
    segno.make(address, error="l", micro=False).terminal(out, border=2, compact=True)
    try:
        out.getvalue().encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        return ""
    return out.getvalue()
