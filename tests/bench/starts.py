"""How long a person waits from the command until the app answers: on an empty folder, and the second time."""

import tempfile
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

from tests.servers import running_app


def measure() -> Iterator[tuple[str, float]]:
    """Start the app twice on one folder."""
    with tempfile.TemporaryDirectory() as folder:
        for which in ("first start, empty folder", "second start"):
            began = time.perf_counter()
            with running_app(Path(folder) / "data") as app:
                urllib.request.urlopen(f"{app.address}/health").read()
                yield which, time.perf_counter() - began
