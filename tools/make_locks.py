"""Writes requirements.lock, for the app, and requirements-test.lock, for app and tests, from pyproject.toml.

Needs the lock tool `uv` on the path or beside this Python; nobody else does, since pip reads both files. They
hold names, versions, markers and hashes for every system on which Ohmstead may run, and no addresses. With
`--upgrade` newer versions are taken; without it they stay where they are as far as pyproject.toml allows.
"""

import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SHARED = (
    "--quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-emit-find-links"
    " --custom-compile-command tools/make_locks.py"
).split()


def write_lock(tool: str, target: str, *more: str) -> None:
    """Resolve pyproject.toml into the file `target`."""
    command = [tool, "pip", "compile", "pyproject.toml", "--output-file", target, *SHARED, *more]
    subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    text = (ROOT / target).read_text("utf-8")
    if "://" in text or "--index" in text or "--find-links" in text:
        raise SystemExit(f"{target} holds an address; do not keep it.")
    print(f"{target}: {sum('==' in line for line in text.splitlines())} packages")


def main() -> None:
    """Write both locks; the test lock keeps the versions of the first."""
    beside = Path(sys.executable).with_name("uv")
    tool = shutil.which("uv") or (str(beside) if beside.exists() else None)
    if tool is None:
        raise SystemExit("The lock tool is missing: .venv/bin/python -m pip install uv")
    upgrade = ["--upgrade"] if "--upgrade" in sys.argv else []
    write_lock(tool, "requirements.lock", *upgrade)
    tests = ["--group", "test", "--constraint", "requirements.lock"]
    write_lock(tool, "requirements-test.lock", *tests, *upgrade)


if __name__ == "__main__":
    main()
