"""Who may let an instrument be used although it is not fit, and for what that stands: the owner alone, with a reason,
for one instrument and for what was known about it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from app.rules.people import Role

ONLY_OWNER = "Only the owner can allow it, with a reason that the certificate prints. Or choose another instrument."


@dataclass(frozen=True)
class Allowance:
    """What the owner allowed: an instrument, in spite of these worries, for this reason.

    at is the moment, unknown for old ones. Withdrawn, it lets nothing be recorded any more; what was measured while it
    stood is still printed with it.
    """

    instrument_id: int
    worries: tuple[str, ...]
    by: str
    on: str
    reason: str
    at: datetime | None = None
    withdrawn_by: str = ""
    withdrawn_on: str = ""
    withdrawn_at: datetime | None = None

    @property
    def stands(self) -> bool:
        return not self.withdrawn_by


def may_use_instrument(instrument_id: int, worries: Iterable[str], allowances: Iterable[Allowance] = ()) -> str | None:
    """Say why an instrument may not be used, or nothing. A worry that no allowance names stops it."""
    standing = [each for each in allowances if each.stands and each.instrument_id == instrument_id]
    allowed = {worry for each in standing for worry in each.worries}
    open_worries = [worry for worry in worries if worry not in allowed]
    return f"{' '.join(open_worries)} {ONLY_OWNER}" if open_worries else None


def may_allow_instrument(role: Role) -> str | None:
    """Say why a person may not allow it, or nothing."""
    return None if role == Role.OWNER else f"The instrument is not fit for use. {ONLY_OWNER}"


def describe_allowance(allowance: Allowance) -> str:
    """Describe an allowance as the certificate prints it."""
    worries = " ".join(allowance.worries)
    told = f"{worries} {allowance.by} (owner) allowed its use on {allowance.on}. Reason: {allowance.reason}"
    if allowance.stands:
        return told
    return f"{told.rstrip('.')}. Withdrawn on {allowance.withdrawn_on} by {allowance.withdrawn_by}."


def list_used_allowances(
    allowances: Iterable[Allowance], measured: Iterable[tuple[int, datetime]]
) -> tuple[Allowance, ...]:
    """List the allowances under which something was measured. measured is (instrument, moment), reading by reading.

    One whose instrument was not used in the end is no deviation. One that was withdrawn counts for what was measured
    until then.
    """
    used = list(measured)
    return tuple(
        each
        for each in allowances
        if any(
            instrument_id == each.instrument_id
            and (each.withdrawn_at is None or ((each.at is None or each.at <= moment) and moment <= each.withdrawn_at))
            for instrument_id, moment in used
        )
    )
