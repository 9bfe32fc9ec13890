"""Measures the main work and prints what it took: `./run bench`, or `./run bench papers` for one file here.

A bench is a module here with `measure()`, which yields (what was done, seconds). Nothing is judged: how long
is too long depends on the machine.
"""

import platform
import sys
from importlib import import_module
from pathlib import Path

BENCHES = sorted(path.stem for path in Path(__file__).parent.glob("*.py") if not path.stem.startswith("_"))


def main() -> None:
    """Run the named benches, or all."""
    wanted = sys.argv[1:] or BENCHES
    if unknown := set(wanted) - set(BENCHES):
        raise SystemExit(f"No bench called {', '.join(sorted(unknown))}. There are: {', '.join(BENCHES)}.")
    print(f"Python {platform.python_version()} on {platform.machine()}")
    for name in wanted:
        for done, seconds in import_module(f"tests.bench.{name}").measure():
            print(f"{name:12} {done:48} {seconds:9.3f} s", flush=True)


if __name__ == "__main__":
    main()
