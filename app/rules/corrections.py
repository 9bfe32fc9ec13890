"""What a correction changed: each value as it was and as it is, in words for the journal."""

from collections.abc import Mapping


def list_changes(before: Mapping[str, str], after: Mapping[str, str]) -> tuple[str, ...]:
    """List what differs between two sets of readings, each by name: "earth 0.21 Ω, now 0.12 Ω"."""
    changes = []
    for name in dict.fromkeys((*before, *after)):
        old, new = before.get(name, ""), after.get(name, "")
        if old == new:
            continue
        if not new:
            changes.append(f"{name} {old}, now not done")
        elif not old:
            changes.append(f"{name} not done, now {new}")
        else:
            changes.append(f"{name} {old}, now {new}")
    return tuple(changes)
