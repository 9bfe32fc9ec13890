"""The local network as tablets see it: where the app answers there, and how a device comes to trust it.

The ways through the menus of devices are from memory; makers move them about between versions.
"""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class LocalNetwork:
    """An app that answers by HTTPS on the local network.

    name: such as "office-pc.local", empty where nobody announces it. fingerprint: SHA-256 of the authority, in pairs.
    """

    name: str
    addresses: tuple[str, ...]
    port: int
    trust_port: int
    authority: bytes
    fingerprint: str
    authority_until: date
    server_until: date
    other_hosts: tuple[str, ...] = ()

    @property
    def address(self) -> str:
        """Where tablets open the app. The name comes first, because it stays when the number changes."""
        return f"https://{self.name or self.addresses[0]}:{self.port}"

    @property
    def number_address(self) -> str:
        return f"https://{self.addresses[0]}:{self.port}"

    @property
    def trust_address(self) -> str:
        """Where a tablet that does not trust the app yet finds out how. By number: the name may be held to HTTPS."""
        return f"http://{self.addresses[0]}:{self.trust_port}/trust"

    @property
    def hosts(self) -> frozenset[str]:
        """Every name that may stand in a request."""
        return frozenset({self.name, *self.addresses, *self.other_hosts, "localhost", "127.0.0.1"} - {""})


@dataclass(frozen=True)
class TrustSteps:
    """How one kind of device takes up the authority. sign: what in the browser's own words tells this kind."""

    device: str
    sign: tuple[str, ...]
    steps: tuple[str, ...]


TRUST_STEPS = (
    TrustSteps(
        "iPad or iPhone",
        ("iPad", "iPhone"),
        (
            "Get the certificate with the button above, in Safari, and allow the download of a profile.",
            "Open Settings. Tap “Profile downloaded”, compare the fingerprint under its details, and install it.",
            "In Settings, General, About, Certificate trust settings: switch it on.",
        ),
    ),
    TrustSteps(
        "Android",
        ("Android",),
        (
            "Get the certificate with the button above.",
            "Open Settings, Security, More security, Install from storage, CA certificate; read the warning and go on.",
            "Choose the file ohmstead-authority.crt. Compare the fingerprint under Trusted credentials, User.",
        ),
    ),
    TrustSteps(
        "Windows",
        ("Windows",),
        (
            "Get the certificate with the button above and open it.",
            "Under Details, compare the fingerprint (SHA-256 where it is shown).",
            "Install certificate, Current user, into “Trusted root certification authorities”. Restart the browser.",
        ),
    ),
    TrustSteps(
        "Mac",
        ("Macintosh",),
        (
            "Get the certificate with the button above and open it: it goes to Keychain Access, login.",
            "Open it there, compare the fingerprint, and under Trust choose “Always trust”.",
        ),
    ),
    TrustSteps(
        "Firefox, on any computer",
        ("Firefox",),
        (
            "Get the certificate with the button above.",
            "Settings, Privacy and security, View certificates, Authorities, Import: trust it for websites.",
        ),
    ),
)


def suggest_trust_steps(browser: str) -> str:
    """The device that this browser most likely runs on, by what it calls itself; empty when it is none of these."""
    return next((each.device for each in TRUST_STEPS if any(sign in browser for sign in each.sign)), "")
