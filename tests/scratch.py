"""Where tests write: into memory where there is room for it, since a database there waits for no disk.

That a save reaches the disk cannot be tested without cutting the power, so nothing is lost by it.
"""

import os
import shutil
import tempfile
from pathlib import Path

MEMORY = Path("/dev/shm")
ROOM = 4 * 1024**3  # bytes; a whole run writes less than one of these GiB at a time


def use_memory() -> None:
    """Let this process and those it starts make their temporary files in memory; TMPDIR chooses otherwise."""
    if "TMPDIR" not in os.environ and MEMORY.is_dir() and shutil.disk_usage(MEMORY).free > ROOM:
        os.environ["TMPDIR"] = tempfile.tempdir = str(MEMORY)


def short_folder() -> Path:
    """A folder for temporary things whose path is short enough for a socket."""
    return MEMORY if os.environ.get("TMPDIR") == str(MEMORY) else Path("/tmp")
