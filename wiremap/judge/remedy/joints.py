"""Places where a run is joined: a coupler, a wall plate, a deck plug."""

import re
from collections.abc import Sequence

from msgspec import Struct

from wiremap.errors import UsageError

JOINT = re.compile(r"(?P<name>[^=]+)=\s*(?P<metres>\d+(\.\d+)?)\s*m?")
WITHIN_M = 0.5
WITHIN_RATIO = 0.06


class Joint(Struct, frozen=True):
    """A joint of the run: what the user calls it, and its distance from the near end, metres."""

    name: str
    at_m: float


def joint_from(text: str) -> Joint:
    """Return a joint from "mast foot=9m"; UsageError when it is not written so."""
    found = JOINT.fullmatch(text.strip())
    if found is None:
        raise UsageError(f"--joint '{text}': cannot be used", 'Write name=metres from the near end, as "mast foot=9m".')
    return Joint(found["name"].strip(), float(found["metres"]))


def joint_at(at_m: float | None, joints: Sequence[Joint]) -> Joint | None:
    """Return the joint that a fault at this distance is likely to be in; None where none is near enough.

    Near enough is 0.5 m or 6 %, twice the 3 % to which an echo of unknown cable gives a length.
    """
    if at_m is None:
        return None
    close = [joint for joint in joints if abs(joint.at_m - at_m) <= max(WITHIN_M, WITHIN_RATIO * at_m)]
    return min(close, key=lambda joint: abs(joint.at_m - at_m), default=None)
