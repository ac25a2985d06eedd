"""Where pairs end, by echo alone: breaks of testers that measure no capacitance.

A pair with a broken conductor answers from the break. Which of the two it is, the echo does not say; and a split
pair comes early too, by 9 to 12 %, so only what is far too early is a break.
"""

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from wiremap.cable.limits import Limits
from wiremap.judge.findings import ONE_OF, Finding
from wiremap.judge.run.breaks.position import placed
from wiremap.judge.run.length.estimate import RunEstimate
from wiremap.judge.run.length.observed import Pair, delay_s, pair_arrival

if TYPE_CHECKING:
    from wiremap.reading.reading import Reading


def echo_ends_s(reading: "Reading", pairs: Sequence[Pair], limits: Limits) -> dict[Pair, float]:
    """Return the one-way delay from which each pair's echo comes back open, seconds."""
    found = {}
    for pair in pairs:
        came = pair_arrival(reading, pair, limits)
        if came is not None and came[0].polarity >= 0:
            found[pair] = delay_s(*came, limits)
    return found


def early_pairs(ends_s: Mapping[Pair, float], limits: Limits) -> tuple[Pair, ...]:
    """Return the pairs whose echo comes far earlier than the latest: earlier than a split pair's could."""
    latest = max(ends_s.values(), default=0.0)
    return tuple(pair for pair, end_s in ends_s.items() if end_s < limits.early_echo_share * latest)


def breaks_by_echo(reading: "Reading", pairs: Sequence[Pair], run: RunEstimate, limits: Limits) -> tuple[Finding, ...]:
    """Return a likely open for each pair that ends early, seen from the near end with the far end open."""
    ends_s = echo_ends_s(reading, pairs, limits)
    found = []
    for pair in early_pairs(ends_s, limits):
        finding = Finding("open", pair, (), certainty="likely", detail=ONE_OF)
        found.append(at_echo(finding, ends_s[pair], run, limits))
    return tuple(found)


def open_by_echo(
    finding: Finding, reading: "Reading", pairs: Sequence[Pair], run: RunEstimate, limits: Limits
) -> Finding:
    """Return an open with the place from which its pair's echo comes, where that tells one."""
    for pair, end_s in echo_ends_s(reading, pairs, limits).items():
        if finding.near and set(finding.near) <= set(pair):
            return at_echo(finding, end_s, run, limits)
    return finding


def at_echo(finding: Finding, delay: float, run: RunEstimate, limits: Limits) -> Finding:
    """Return a finding placed by the delay of an echo, seconds; unchanged where the cable's length is not known.

    Where the length is by the cable's own echo, the velocity falls out.
    """
    cable, m_per_s = run.cable, run.m_per_s
    if cable is None or m_per_s is None:
        return finding
    share = delay * m_per_s / cable.length_m
    u_share = share * math.hypot(limits.materials.pair.delay_u, limits.echo_zero_u_ps / max(2e12 * delay, 1e3))
    return placed(finding, share, u_share, cable, limits)
