"""Where pairs end, by echo alone: breaks of testers that measure no capacitance.

A pair with a broken conductor answers from the break. Which of the two it is, the echo does not say; and a split
pair comes early too, by 9 to 12 %, so only what is far too early is a break.
"""

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from wiremap.cable.limits import Limits
from wiremap.judge.findings import Finding
from wiremap.judge.measurements import Length
from wiremap.judge.run.breaks.position import placed
from wiremap.judge.run.length.methods import Pair, echo_length_m, pair_arrival, velocity_terms

if TYPE_CHECKING:
    from wiremap.reading.reading import Reading


def echo_ends_m(reading: "Reading", pairs: Sequence[Pair], limits: Limits) -> dict[Pair, float]:
    """Return from how far each pair's echo comes back open, by the velocity factor taken for the cable."""
    nvp, _ = velocity_terms(reading.calibration, limits)
    found = {}
    for pair in pairs:
        came = pair_arrival(reading, pair, limits)
        if came is not None and came[0].polarity >= 0:
            found[pair] = echo_length_m(came[0].time_ps, came[1], nvp, limits)
    return found


def early_pairs(ends_m: Mapping[Pair, float], limits: Limits) -> tuple[Pair, ...]:
    """Return the pairs whose echo comes far earlier than the latest: earlier than a split pair's could."""
    latest = max(ends_m.values(), default=0.0)
    return tuple(pair for pair, end_m in ends_m.items() if end_m < limits.early_echo_share * latest)


def breaks_by_echo(
    reading: "Reading", pairs: Sequence[Pair], cable: Length | None, limits: Limits
) -> tuple[Finding, ...]:
    """Return a likely open for each pair that ends early, seen from the near end with the far end open."""
    ends_m = echo_ends_m(reading, pairs, limits)
    found = []
    for pair in early_pairs(ends_m, limits):
        finding = Finding("open", pair, (), certainty="likely")
        found.append(finding if cable is None else at_echo(finding, ends_m[pair], cable, limits))
    return tuple(found)


def open_by_echo(finding: Finding, reading: "Reading", pairs: Sequence[Pair], cable: Length, limits: Limits) -> Finding:
    """Return an open with the place from which its pair's echo comes, where that tells one."""
    for pair, end_m in echo_ends_m(reading, pairs, limits).items():
        if finding.near and set(finding.near) <= set(pair):
            return at_echo(finding, end_m, cable, limits)
    return finding


def at_echo(finding: Finding, at_m: float, cable: Length, limits: Limits) -> Finding:
    """Return a finding placed by an echo; the cable's length was read with the same velocity, which falls out."""
    share = at_m / cable.length_m
    echo_ps = max(at_m, 0.1) * 1e4  # ten nanoseconds a metre, out and back
    u_share = share * math.hypot(limits.materials.pair.delay_u, limits.echo_zero_u_ps / echo_ps)
    return placed(finding, share, u_share, cable, limits)
