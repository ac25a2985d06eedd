"""Whether a cable is as long as it was to be."""

from collections.abc import Sequence
from typing import Any

from msgspec import Struct

from wiremap.errors import FileError
from wiremap.judge.findings import Finding
from wiremap.judge.measurements import Length


class WantedLength(Struct, frozen=True):
    """How long a cable was to be, and by how much it may differ, metres."""

    wanted_m: float
    tolerance_m: float

    def to_builtins(self) -> dict[str, Any]:
        """Return it as a capture's rules have it."""
        return {"wanted_m": self.wanted_m, "tolerance_m": self.tolerance_m}


def wanted_from_builtins(plain: object) -> WantedLength | None:
    """Return what a capture's rules say of the wanted length, None where they say nothing; FileError for junk."""
    if plain is None:
        return None
    keys = ("wanted_m", "tolerance_m")
    if not isinstance(plain, dict) or set(plain) != set(keys):
        raise FileError(f"rules: length is {plain!r}", "Allowed there: wanted_m and tolerance_m.")
    values = [plain[key] for key in keys]
    if not all(isinstance(value, int | float) and not isinstance(value, bool) and value >= 0 for value in values):
        raise FileError(f"rules: length is {plain!r}", "Allowed there: metres from 0.")
    return WantedLength(float(values[0]), float(values[1]))


def wrong_length(lengths: Sequence[Length], wanted: WantedLength | None) -> tuple[Finding, ...]:
    """Return that a cable is too long or too short; likely only, while the 95 % interval still holds a length allowed.

    lengths: of the diagnosis; the last of the whole cable counts, which is the fused one where there is one.
    """
    cable = [one for one in lengths if one.pair is None]
    if wanted is None or not cable:
        return ()
    found = cable[-1]
    shortest, longest = wanted.wanted_m - wanted.tolerance_m, wanted.wanted_m + wanted.tolerance_m
    if shortest <= found.length_m <= longest:
        return ()
    sure = found.low_m > longest or found.high_m < shortest
    return (
        Finding(
            "too-long" if found.length_m > longest else "too-short",
            value=round(found.length_m, 2),
            limit=round(longest if found.length_m > longest else shortest, 3),
            unit="m",
            u_m=round(found.u_m, 2),
            detail="specified",
            certainty="confirmed" if sure else "likely",
        ),
    )
