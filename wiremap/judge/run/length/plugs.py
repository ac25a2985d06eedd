"""What the plugs add to a capacitance, told apart from the cable by what a cable cannot do.

Between two twisted pairs a cable has four capacitances that are all alike, since each conductor of a pair lies where
the other does half a turn on. What differs among the four is of the plugs, whose contacts stand in a row: neighbours
have p1, every second ones p2. Both are known beforehand to some extent (limits), and are at least nothing.
"""

import math
from collections.abc import Collection, Sequence
from functools import lru_cache
from itertools import combinations

import numpy as np
from msgspec import Struct

from wiremap.cable.limits import Limits
from wiremap.judge.run.capacitance import Groups
from wiremap.judge.run.network import Array


class PlugCapacitance(Struct, frozen=True):
    """pf: [p1, p2], what one plug adds between neighbouring and every second contacts; covariance: [2, 2], pF^2."""

    pf: Array
    covariance: Array

    def added(self, neighbours: Array, seconds: Array) -> Array:
        """Return what plugs add where there are so many neighbours and second neighbours, pF."""
        return np.asarray(self.pf[0] * neighbours + self.pf[1] * seconds, dtype=np.float64)


def usual_plugs(limits: Limits) -> PlugCapacitance:
    """Return what plugs add as far as it is known before anything is measured."""
    u = np.array([limits.plug_next_u_pf, limits.plug_second_u_pf])
    return PlugCapacitance(np.array([limits.plug_next_pf, limits.plug_second_pf]), np.diag(u**2))


def contacts_side_by_side(seen: Groups) -> tuple[Array, Array]:
    """Return [i, j] at how many plugs two groups have neighbouring contacts, and every second ones.

    A far plug that hangs free is taken to hold its conductors as the near one does.
    """
    plugs = 1 if any(seen.far) else 2
    return _side_by_side(tuple(map(len, seen.near)), seen.places, plugs)


@lru_cache(maxsize=64)
def _side_by_side(near: tuple[int, ...], places: tuple[tuple[int, ...], ...], plugs: int) -> tuple[Array, Array]:
    """Return what `contacts_side_by_side` does; near: how many of each group's places are at the near end."""
    size, last = len(near), max((place for group in places for place in group), default=0)
    at = np.zeros((2, size, last + 3))  # end, group, place
    for group, (count, all_places) in enumerate(zip(near, places, strict=True)):
        at[0, group, list(all_places[:count])] = 1.0
        at[1, group, list(all_places[count:])] = 1.0
    found = []
    for apart in (1, 2):
        beside = (at[:, :, apart:] @ at[:, :, :-apart].swapaxes(1, 2)).sum(axis=0)
        both = plugs * (beside + beside.T)
        np.fill_diagonal(both, 0.0)
        both.flags.writeable = False
        found.append(both)
    return found[0], found[1]


def walked_pf(between_pf: float, length_m: float, limits: Limits) -> float:
    """Return how far capacitances between two pairs have walked apart at random along a run, pF.

    between_pf: what each of them is in the mean. Pairs that are not coupled, each in its foil, have nothing to differ.
    """
    if length_m <= 0:
        return 0.0
    coupled = max(between_pf, 0.0) / length_m / limits.section_coupled_pf + limits.section_least_coupled
    return limits.asymmetry_pf_per_root_m * min(1.0, coupled) * math.sqrt(length_m)


def plug_capacitance(
    direct_pf: Array,
    neighbours: Array,
    seconds: Array,
    pairs: Sequence[tuple[int, int]],
    length_m: float,
    sigma_pf: float,
    limits: Limits,
    left_out: Collection[tuple[int, int]] = (),
) -> PlugCapacitance:
    """Return what the plugs add, after the direct capacitances [i, j] between twisted pairs (rows of the groups).

    neighbours, seconds: as `contacts_side_by_side`. sigma_pf: of one capacitance. length_m: about how long it is:
    its own unevenness grows with the root of it. left_out: two of the pairs between which something else than plugs
    may differ. pF throughout.
    """
    usual = usual_plugs(limits)
    precision = np.linalg.inv(usual.covariance)
    told = precision @ usual.pf
    asked = [(one, other) for one, other in combinations(pairs, 2) if one not in left_out or other not in left_out]
    if asked:
        across = np.array(asked)
        rows, columns = across[:, 0, [0, 0, 1, 1]], across[:, 1, [0, 1, 0, 1]]
        shown = direct_pf[rows, columns]
        design = np.stack([neighbours[rows, columns], seconds[rows, columns]], axis=2)
        left = shown - design @ usual.pf
        walked = np.array([walked_pf(float(value), length_m, limits) for value in left.mean(axis=1)])
        variance = limits.plug_scatter**2 * design @ usual.pf**2 + walked[:, None] ** 2 + sigma_pf**2
        plugs_own = _as_plugs_may(left, design, variance, usual, limits)
        design, shown, weight = design[plugs_own], shown[plugs_own], 1 / variance[plugs_own]
        level = (weight / weight.sum(axis=1, keepdims=True))[:, None, :]
        design = design - level @ design
        shown = shown - (level @ shown[..., None])[..., 0]
        weighed = (weight[..., None] * design).swapaxes(1, 2)
        precision = precision + (weighed @ design).sum(axis=0)
        told = told + (weighed @ shown[..., None]).sum(axis=0)[:, 0]
    covariance = np.linalg.inv(precision)
    return PlugCapacitance(np.maximum(covariance @ told, 0.0), covariance)


def _as_plugs_may(left: Array, design: Array, variance: Array, usual: PlugCapacitance, limits: Limits) -> Array:
    """Return [g] whether the four capacitances of two pairs differ by no more than plugs and unevenness can make them.

    left: [g, 4] less what plugs usually add. design: [g, 4, 2]. variance: [g, 4] of each by itself. What differs by
    more is broken or split, and says nothing of plugs.
    """
    level = 1e6  # pF^2: what all four have in common may be anything
    may = design @ usual.covariance @ design.swapaxes(1, 2) + np.eye(4) * variance[:, :, None] + level
    with np.errstate(invalid="ignore"):
        chi2 = (left[:, None, :] @ np.linalg.inv(may) @ left[:, :, None])[:, 0, 0]
    return np.asarray(chi2 < limits.break_sigmas**2 + 3)


class WithoutPlugs(Struct, frozen=True):
    """Direct capacitances [i, j] of the cable alone, pF, and what was taken off to get there.

    neighbours, seconds: [i, j] at how many plugs two groups stand side by side, and every second.
    """

    direct_pf: Array
    plugs: PlugCapacitance
    neighbours: Array
    seconds: Array

    @property
    def u_pf(self) -> Array:
        """Return [i, j] the standard uncertainty of what was taken off."""
        covariance = self.plugs.covariance
        u: Array = np.sqrt(covariance[0, 0] * self.neighbours**2 + covariance[1, 1] * self.seconds**2)
        return u

    def doubt_pf(self, share: Array, scatter: float) -> tuple[float, float]:
        """Return (own, shared) standard uncertainty of a sum over i < j of share x direct capacitance, pF.

        scatter: how much contacts of one plug differ, relative; that is each sum's own.
        """
        upper = np.triu(share, 1)
        reach = np.array([(upper * self.neighbours).sum(), (upper * self.seconds).sum()])
        p1, p2 = self.plugs.pf
        own = scatter * np.sqrt(((p1**2 * self.neighbours + p2**2 * self.seconds) * upper**2).sum())
        return float(own), float(np.sqrt(reach @ self.plugs.covariance @ reach))


def without_plugs(seen: Groups, pairs: Sequence[tuple[int, int]], limits: Limits) -> WithoutPlugs:
    """Return the direct capacitances without what plugs add; pairs: rows of the groups that are whole twisted pairs."""
    between = np.array(seen.direct_pf)
    np.fill_diagonal(between, 0.0)
    level_pf = float(np.median([between[a, b] for a, b in pairs])) if pairs else 0.0
    neighbours, seconds = contacts_side_by_side(seen)
    about_m = level_pf / limits.usual_pf_per_m
    plugs = plug_capacitance(between, neighbours, seconds, pairs, about_m, seen.direct_sigma_pf, limits)
    return WithoutPlugs(np.maximum(between - plugs.added(neighbours, seconds), 0.0), plugs, neighbours, seconds)
