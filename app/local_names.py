"""Under which addresses and which name the local network knows this computer. Nothing is sent to find out."""

import importlib
import re
import socket
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any

from app.local_authority import is_private

AVAHI = Path("/run/avahi-daemon/socket")
SIOCGIFADDR = 0x8915  # Linux: the IPv4 address of an interface


def find_name() -> str:
    """This computer's name with .local behind it."""
    host = re.sub(r"[^a-z0-9-]", "-", socket.gethostname().split(".")[0].lower()).strip("-")
    return f"{host[:63] or 'ohmstead'}.local"


def find_addresses() -> tuple[str, ...]:
    """The private IPv4 addresses of this computer, the one towards the rest of the network first."""
    found = [*_towards_others(), *_of_interfaces(), *_of_host()]
    return tuple(dict.fromkeys(each for each in found if is_private(each) and not each.startswith("127.")))


def _towards_others() -> list[str]:
    """The address from which packets would go out. Connecting a UDP socket chooses a way and sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way, suppress(OSError):
        way.connect(("192.0.2.1", 9))  # RFC 5737: an address that is nobody's
        return [way.getsockname()[0]]
    return []


def _of_interfaces() -> list[str]:
    if sys.platform != "linux":
        return []
    import fcntl

    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as any_socket:
        for _, name in socket.if_nameindex():
            with suppress(OSError):
                answer = fcntl.ioctl(any_socket.fileno(), SIOCGIFADDR, name.encode()[:15].ljust(256, b"\0"))
                found.append(socket.inet_ntoa(answer[20:24]))
    return found


def _of_host() -> list[str]:
    with suppress(OSError):
        return list(socket.gethostbyname_ex(socket.gethostname())[2])
    return []


class Announcement:
    """Tells the local network (multicast DNS, RFC 6762) which computer has the name; needs the package zeroconf."""

    def __init__(self, interfaces: list[str] | None = None) -> None:
        self._interfaces = interfaces
        self._speaker: Any = None

    def tell(self, name: str, addresses: tuple[str, ...], port: int) -> bool:
        """Announce the name, in place of what was announced before; whether that could be done."""
        self.end()
        try:
            zeroconf = importlib.import_module("zeroconf")
        except ImportError:
            return False
        try:
            chosen = {"interfaces": self._interfaces} if self._interfaces else {}
            self._speaker = zeroconf.Zeroconf(ip_version=zeroconf.IPVersion.V4Only, **chosen)
            service = zeroconf.ServiceInfo(
                "_https._tcp.local.",
                f"Ohmstead at {name.removesuffix('.local')}._https._tcp.local.",
                addresses=[socket.inet_aton(address) for address in addresses],
                port=port,
                server=f"{name}.",
                properties={"path": "/"},
            )
            self._speaker.register_service(service)
        except (OSError, zeroconf.Error):
            self.end()
            return False
        return True

    def end(self) -> None:
        """Take the announcement back."""
        if self._speaker is not None:
            with suppress(OSError):
                self._speaker.unregister_all_services()
            self._speaker.close()
            self._speaker = None


def is_announced_by_system() -> bool:
    """Whether the system itself answers for its name: macOS and Windows do, Linux where Avahi runs."""
    return sys.platform in ("darwin", "win32") or AVAHI.exists()
