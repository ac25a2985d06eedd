"""From a share of a cable's length to a place in metres, and the end it is at where that is sure."""

import math

from msgspec import Struct
from msgspec.structs import replace

from wiremap.cable.limits import Limits
from wiremap.judge.findings import Certainty, Finding, Place
from wiremap.judge.measurements import Length


class Cut(Struct, frozen=True):
    """A conductor that ends early, at which share of the run, and how surely.

    contacts: its near contact; those of a pair where one of the two ends early, or both, and which is not known.
    share, u_share: NaN where the place is not told.
    """

    contacts: tuple[str, ...]
    share: float
    u_share: float
    certainty: Certainty = "confirmed"


def placed(finding: Finding, share: float, u_share: float, cable: Length, limits: Limits) -> Finding:
    """Return a finding at a share of the cable's length; the end is named where the 95 % interval allows it.

    share, u_share: NaN where too little was measured, which leaves the finding without a place.
    """
    if math.isnan(share) or math.isnan(u_share):
        return finding
    share = min(max(share, 0.0), 1.0)
    at_m = share * cable.length_m
    u_near_m = math.hypot(u_share * cable.length_m, share * cable.u_m)
    u_far_m = math.hypot(u_share * cable.length_m, (1 - share) * cable.u_m)
    end: Place | None = None
    plug_m = min(limits.plug_m, cable.low_m / 2)
    if at_m + limits.place_sigmas * u_near_m < plug_m:
        end = "near"
    elif cable.length_m - at_m + limits.place_sigmas * u_far_m < plug_m:
        end = "far"
    elif (
        at_m - limits.place_sigmas * u_near_m > limits.plug_m
        and cable.length_m - at_m - limits.place_sigmas * u_far_m > limits.plug_m
    ):
        end = "run"
    return replace(finding, end=finding.end or end, at_m=round(at_m, 3), u_m=round(u_near_m, 3))
