"""Who may let an instrument be used although it is not fit, and for what that stands: the owner alone, with a reason,
for one instrument and for what was known about it.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from app.rules.people import Role

ONLY_OWNER = "Only the owner can allow it, with a reason that the certificate prints. Or choose another instrument."


@dataclass(frozen=True)
class Allowance:
    """What the owner allowed: an instrument, in spite of these worries, for this reason."""

    instrument_id: int
    worries: tuple[str, ...]
    by: str
    on: str
    reason: str


def may_use_instrument(instrument_id: int, worries: Iterable[str], allowances: Iterable[Allowance] = ()) -> str | None:
    """Say why an instrument may not be used, or nothing. A worry that no allowance names stops it."""
    allowed = {worry for each in allowances if each.instrument_id == instrument_id for worry in each.worries}
    open_worries = [worry for worry in worries if worry not in allowed]
    return f"{' '.join(open_worries)} {ONLY_OWNER}" if open_worries else None


def may_allow_instrument(role: Role) -> str | None:
    """Say why a person may not allow it, or nothing."""
    return None if role == Role.OWNER else f"The instrument is not fit for use. {ONLY_OWNER}"


def describe_allowance(allowance: Allowance) -> str:
    """Describe an allowance as the certificate prints it."""
    worries = " ".join(allowance.worries)
    return f"{worries} {allowance.by} (owner) allowed its use on {allowance.on}. Reason: {allowance.reason}"
