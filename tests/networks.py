"""A network between a browser and the real app that can be cut, and that loses, delays or doubles what passes."""

import http.client
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from time import sleep
from typing import Any
from urllib.parse import urlsplit

HOP_BY_HOP = {"connection", "keep-alive", "transfer-encoding", "content-length", "date", "server"}


@dataclass
class Network:
    """up: whether anything passes. fault gives for each keyed write "", "lose" (its answer), "late" or "double"."""

    port: int
    to: str
    up: bool = True
    fault: Callable[[str], str] = lambda key: ""
    passed: list[str] = field(default_factory=list)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"


class _Server(ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A browser that goes away in the middle is what these tests are about."""


@contextmanager
def network_before(address: str) -> Iterator[Network]:
    """Put a network before an app; its address is what the browser opens."""
    network = Network(0, address)

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def _pass(self) -> None:
            body = self.rfile.read(int(self.headers.get("content-length") or 0))
            if not network.up:
                self._cut()
                return
            key = self.headers.get("entry-key", "")
            fault = network.fault(key) if key else ""
            if key:
                network.passed.append(key)
            if fault == "late":
                sleep(0.4)
            try:
                if fault == "double":
                    _ask(network.to, self.command, self.path, dict(self.headers), body)
                status, headers, content = _ask(network.to, self.command, self.path, dict(self.headers), body)
            except OSError:
                self._cut()
                return
            if fault == "lose" or not network.up:
                self._cut()
                return
            self.send_response_only(status)
            for name, value in headers:
                if name.lower() not in HOP_BY_HOP:
                    self.send_header(name, value)
            if status not in (204, 304):
                self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

        do_GET = do_POST = do_HEAD = _pass

        def _cut(self) -> None:
            self.close_connection = True
            self.connection.shutdown(socket.SHUT_RDWR)

        def log_message(self, format: str, *args: Any) -> None:
            """Say nothing."""

    server = _Server(("127.0.0.1", 0), Handler)
    network.port = server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
    thread.start()
    try:
        yield network
    finally:
        server.shutdown()
        server.server_close()


def _ask(
    address: str, method: str, path: str, headers: dict[str, str], body: bytes
) -> tuple[int, list[tuple[str, str]], bytes]:
    link = http.client.HTTPConnection(urlsplit(address).netloc, timeout=30)
    try:
        link.request(method, path, body=body or None, headers=headers)
        answer = link.getresponse()
        return answer.status, answer.getheaders(), answer.read()
    finally:
        link.close()
