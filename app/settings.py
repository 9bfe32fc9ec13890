"""Every setting, read once from the environment. A default is safe in use and harmless in public."""

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class Settings:
    """The settings of one running Ohmstead. Each is named in DEVELOPERS.md with its environment variable."""

    #: Folder for the database, the issued papers and the backups (OHMSTEAD_DATA).
    data_folder: Path = Path("var")
    #: SQLAlchemy address of a PostgreSQL database; empty for SQLite in the data folder (OHMSTEAD_DATABASE).
    database: str = ""
    #: Address to listen on; 127.0.0.1 keeps the server to this computer (OHMSTEAD_HOST).
    host: str = "127.0.0.1"
    #: Port to listen on (OHMSTEAD_PORT).
    port: int = 8765
    #: Address under which customers and tablets reach the server, printed on papers (OHMSTEAD_ADDRESS).
    address: str = ""
    #: Password of the mail server; empty for the file beside the firm's keys. Never shown (OHMSTEAD_MAIL_PASSWORD).
    mail_password: str = field(default="", repr=False)
    #: Time zone in which a day begins and ends (OHMSTEAD_ZONE).
    zone: str = "Europe/London"

    @property
    def public_address(self) -> str:
        return self.address.rstrip("/") or f"http://{self.host}:{self.port}"

    @property
    def papers_folder(self) -> Path:
        return self.data_folder / "papers"

    @property
    def database_url(self) -> str:
        return self.database or f"sqlite:///{(self.data_folder / 'ohmstead.db').resolve()}"

    @property
    def time_zone(self) -> ZoneInfo:
        return ZoneInfo(self.zone)


def settings_from(environment: Mapping[str, str] = os.environ) -> Settings:
    """Read the settings from environment variables. Raises ValueError with a sentence for a bad port."""
    port = environment.get("OHMSTEAD_PORT", "")
    if port and not (port.isdecimal() and 0 < int(port) < 65536):
        raise ValueError(f"OHMSTEAD_PORT is {port!r}; it must be a number from 1 to 65535.")
    return Settings(
        data_folder=Path(environment.get("OHMSTEAD_DATA") or Settings.data_folder),
        database=environment.get("OHMSTEAD_DATABASE", ""),
        host=environment.get("OHMSTEAD_HOST") or Settings.host,
        port=int(port) if port else Settings.port,
        address=environment.get("OHMSTEAD_ADDRESS", ""),
        mail_password=environment.get("OHMSTEAD_MAIL_PASSWORD", ""),
        zone=environment.get("OHMSTEAD_ZONE") or Settings.zone,
    )
