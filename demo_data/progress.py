"""Says how far the making of the demo has come."""

import sys


class Progress:
    """A line that moves on a terminal, and one line a step elsewhere."""

    def __call__(self, what: str, done: int, total: int) -> None:
        if sys.stdout.isatty():
            bar = "█" * round(24 * done / total)
            print(f"\r{what:<24}{bar:<24} {done} of {total}", end="\n" if done == total else "", flush=True)
        elif done == total:
            print(f"{what}: {done} of {total}", flush=True)
