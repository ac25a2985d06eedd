"""Sections of a run in which conductors of two pairs have changed places: how much of it, and where it begins.

A conductor of one pair is as near to either conductor of another, so their four capacitances are alike in two twos:
(a, c) with (b, d), and (a, d) with (b, c). Along a split section one of the twos are partners. With hi and lo the means
of the twos and P that of the pairs, (hi - lo) / ((P - lo) + (hi - lo)) is the share of the run that is split: nothing
has to be known of the cable's picofarads by the metre. In the split section both pairs have a higher impedance, and
their traces rise against those of the others.
"""

import math
from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from wiremap.cable.limits import Limits
from wiremap.cable.patterns import Pattern
from wiremap.contact import near_contact
from wiremap.judge.findings import Finding
from wiremap.judge.measurements import Length
from wiremap.judge.run.capacitance import Groups
from wiremap.judge.run.echo import reflections
from wiremap.judge.run.length.estimate import TO_95
from wiremap.judge.run.length.observed import Pair
from wiremap.judge.run.length.plugs import (
    PlugCapacitance,
    contacts_side_by_side,
    plug_capacitance,
    usual_plugs,
    walked_pf,
)
from wiremap.judge.run.network import Array
from wiremap.judge.run.pairing.pairing import Pairs, expected_pairs
from wiremap.judge.wiring.cells import Two

if TYPE_CHECKING:
    from wiremap.reading.reading import Reading


class SplitSection(Struct, frozen=True):
    """Two pairs (near contacts) that are split along a share of the run, with its standard uncertainty.

    instead: what are partners there. z: how many standard uncertainties capacitance speaks for it; over: how many times
    what it alone is believed from. moved_pf: what each partner of the run lost to them. escapes: the largest share that
    can be split and not be believed. begins: at which share of the run from the near end, None = no trace shows it.
    """

    pairs: tuple[Pair, Pair]
    instead: tuple[Pair, Pair]
    share: float
    u: float
    z: float
    over: float
    moved_pf: float
    escapes: float
    begins: float | None = None


class SplitShares(Struct, frozen=True):
    """found: sections that are split. hidden: the largest share of the run that may be split and not be seen."""

    found: tuple[SplitSection, ...]
    hidden: float


def split_shares(reading: "Reading", seen: Groups, twisted: Sequence[Pair], limits: Limits) -> SplitShares | None:
    """Return which of the twisted pairs are split along a part of the run; None with fewer than two whole pairs.

    twisted: near contacts of pairs both of whose conductors are whole.
    """
    rows = {pair: (seen.of_near(pair[0]), seen.of_near(pair[1])) for pair in twisted}
    whole = {pair: (a, b) for pair, (a, b) in rows.items() if a is not None and b is not None}
    if seen.direct_pf is None or len(whole) < 2:
        return None
    groups = sorted(_groups(seen, whole, limits), key=lambda one: -one.z)
    if not groups:
        return None
    rest = [one.z for one in groups[1:]]
    uneven = max(1.0, float(np.median(rest)) / limits.section_usual_z) if rest else 1.0
    found: list[SplitSection] = []
    for one in groups:
        others = [pair for pair in twisted if pair not in one.pairs]
        rise = _rise(reading, one.pairs, others, limits) if one.z > limits.section_z else None
        known = {pair for section in found for pair in section.pairs}
        if known.isdisjoint(one.pairs) and (rise is not None or one.over > uneven):
            found.append(replace(one, z=one.z / uneven, over=one.over / uneven, begins=rise))
    return SplitShares(tuple(found), min(max(one.escapes for one in groups) * uneven, 0.5))


class _Bare(Struct, frozen=True):
    """Direct capacitances without plugs, what contacts of one plug differ by (variance), and the plugs; pF.

    about_m: about how long the run is, for its own unevenness. noise_pf: of one capacitance.
    """

    direct_pf: Array
    scatter: Array
    neighbours: Array
    seconds: Array
    plugs: PlugCapacitance
    about_m: float
    noise_pf: float

    def along(self, one: Pair, other: Pair, rows: tuple[Two, Two], limits: Limits) -> SplitSection | None:
        """Return the share of the run along which two pairs would be split, nothing left out."""
        (a, b), (c, d) = rows
        straight, crossed = ((a, b), (c, d)), ((a, b), (d, c))
        means = [float(self.direct_pf[two].sum()) / 2 for two in (straight, crossed)]
        high, low = max(means), min(means)
        partners = float(self.direct_pf[a, b] + self.direct_pf[c, d]) / 2
        whole_pf = (partners - low) + (high - low)
        if not math.isfinite(whole_pf) or whole_pf <= 0:
            return None
        by_plugs = np.array(
            [(table[straight].sum() - table[crossed].sum()) / 2 for table in (self.neighbours, self.seconds)]
        )
        walked = walked_pf(low, self.about_m, limits)
        rest_pf = math.hypot(
            math.sqrt(float(self.scatter[straight].sum() + self.scatter[crossed].sum()) / 4),
            math.sqrt(float(by_plugs @ self.plugs.covariance @ by_plugs)),
            self.noise_pf,
        )
        doubt_pf = math.hypot(walked, rest_pf)
        needed_pf = math.hypot(limits.section_walked_z * walked, limits.section_alone_z * rest_pf)
        instead = ((one[0], other[0]), (one[1], other[1]))
        if means[1] > means[0]:
            instead = ((one[0], other[1]), (one[1], other[0]))
        moved_pf = high - low
        return SplitSection(
            (one, other),
            instead,
            share=moved_pf / whole_pf,
            u=doubt_pf * (partners - low) / whole_pf**2,
            z=moved_pf / doubt_pf,
            over=moved_pf / needed_pf,
            moved_pf=moved_pf,
            escapes=(needed_pf + limits.section_power_z * doubt_pf) / whole_pf,
        )


def _groups(seen: Groups, whole: Mapping[Pair, Two], limits: Limits) -> list[SplitSection]:
    """Return of every two pairs the share of the run along which they would be split.

    Where that may be something the plugs are measured between the other pairs, instead of taken as usual.
    """
    neighbours, seconds = contacts_side_by_side(seen)
    shown, rows = np.array(seen.direct_pf), list(whole.values())
    noise_pf = seen.noise_pf or limits.pairing_floor_pf

    def bare(plugs: PlugCapacitance, about_m: float) -> _Bare:
        p1, p2 = plugs.pf.tolist()
        scatter = limits.plug_scatter**2 * (p1**2 * neighbours + p2**2 * seconds)
        direct_pf = shown - plugs.added(neighbours, seconds)
        return _Bare(direct_pf, scatter, neighbours, seconds, plugs, about_m, noise_pf)

    usual = usual_plugs(limits)
    level_pf = float(np.median([(shown - usual.added(neighbours, seconds))[row] for row in rows]))
    about_m = max(level_pf / limits.usual_direct_pf_per_m, 1e-3)
    found = []
    for one, other in combinations(whole, 2):
        pair_rows = (whole[one], whole[other])
        seen_along = bare(usual, about_m).along(one, other, pair_rows, limits)
        if seen_along is not None and seen_along.z > limits.section_z:
            plugs = plug_capacitance(shown, neighbours, seconds, rows, about_m, noise_pf, limits, pair_rows)
            seen_along = bare(plugs, about_m).along(one, other, pair_rows, limits)
        found += [] if seen_along is None else [seen_along]
    return found


def _rise(reading: "Reading", split: Pairs, others: Sequence[Pair], limits: Limits) -> float | None:
    """Return at which share of the way to the end the traces of two pairs rise against the others'; None = nowhere."""
    traces = {frozenset((trace.a, trace.b)): trace for trace in reading.traces}
    mine = [traces.get(frozenset(map(near_contact, pair))) for pair in split]
    theirs = [trace for pair in others if (trace := traces.get(frozenset(map(near_contact, pair)))) is not None]
    whole = [trace for trace in mine if trace is not None]
    same = {(len(trace.microvolts), trace.t0_ps, trace.dt_ps) for trace in (*whole, *theirs)}
    ends = [shown.steps[0].time_ps for trace in theirs if (shown := reflections(trace, limits)).steps]
    if len(whole) < 2 or not ends or len(same) != 1:
        return None
    end_ps = float(np.mean(ends))
    times = whole[0].t0_ps + whole[0].dt_ps * np.arange(len(whole[0].microvolts))
    inside = (times > limits.section_from_ps) & (times < limits.section_to_end * end_ps)
    if int(inside.sum()) < 2:
        return None
    usual = np.mean([_over_its_end(np.array(trace.microvolts, dtype=np.float64)) for trace in theirs], axis=0)
    away = np.array([_over_its_end(np.array(trace.microvolts, dtype=np.float64)) - usual for trace in whole])[:, inside]
    if away.max(axis=1).min() < limits.section_rise:
        return None
    both = away.mean(axis=0)
    at = highest = int(both.argmax())
    while at > 0 and both[at - 1] > both[highest] / 2:
        at -= 1
    return 0.0 if at == 0 else float(times[inside][at]) / end_ps


def _over_its_end(values: Array) -> Array:
    """Return a trace as parts of the level it ends at, the mean of three samples each."""
    smooth = np.convolve(values, np.ones(3) / 3, "same")
    return np.asarray(smooth / np.median(values[-max(len(values) // 20, 3) :]), dtype=np.float64)


def as_unsplit(seen: Groups | None, shares: SplitShares | None) -> Groups | None:
    """Return what the groups would show if no section were split: partners get back what they lost."""
    if seen is None or shares is None or seen.direct_pf is None or not shares.found:
        return seen
    between = np.array(seen.direct_pf)
    for one in shares.found:
        for pairs, back_pf in ((one.pairs, one.moved_pf), (one.instead, -one.moved_pf)):
            for a, b in pairs:
                i, j = seen.of_near(a), seen.of_near(b)
                if i is not None and j is not None:
                    between[i, j] += back_pf
                    between[j, i] += back_pf
    return replace(seen, direct_pf=tuple(map(tuple, between.tolist())))


def section_findings(
    shares: SplitShares, cable: Length, pattern: Pattern, whole: bool, limits: Limits
) -> tuple[Finding, ...]:
    """Return a finding for each split section of expected pairs: metres of it, and where it begins if traces show it.

    Where most of the run has the pairs exchanged, the section is that most. whole: both plugs are in the tester.
    """
    expected = {frozenset(pair) for pair in expected_pairs(pattern)}
    route = dict(pattern.conductors)
    findings = []
    for one in shares.found:
        most = expected.issuperset(map(frozenset, one.instead))
        if not most and not expected.issuperset(map(frozenset, one.pairs)):
            continue
        share = 1 - one.share if most else one.share
        length_u = cable.u_m / cable.length_m
        metres = share * cable.length_m
        half_m = TO_95 * math.hypot(one.u * cable.length_m, metres * length_u, metres * limits.section_share_u)
        at_m = None if one.begins is None or most else one.begins * cable.length_m
        place_m = limits.section_place_m + limits.section_place_share * cable.length_m
        contacts = tuple(contact for contact in route if contact in {*one.pairs[0], *one.pairs[1]})
        sure = one.begins is not None or one.over > limits.section_confirmed
        findings.append(
            Finding(
                "split-section",
                contacts,
                tuple(route[contact] for contact in contacts) if whole else (),
                end="run",
                at_m=None if at_m is None else round(at_m, 2),
                certainty="confirmed" if sure else "likely",
                value=round(metres, 2),
                unit="m",
                u_m=None if at_m is None else round(math.hypot(place_m / TO_95, at_m * length_u), 2),
                low=round(max(metres - half_m, 0.0), 2),
                high=round(min(metres + half_m, cable.high_m), 2),
            )
        )
    return tuple(findings)
