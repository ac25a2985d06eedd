"""What is observed between conductors that may be partners; conductors that are missing, broken or shorted included.

A conductor that is broken is taken together from what its two contacts show. Conductors that are shorted are one
group, seen side by side: which of them a partner belongs to, and whether two of them are partners, is hidden.
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from wiremap.cable.limits import Limits
from wiremap.cable.materials import KindMatrices
from wiremap.cable.patterns import Pattern
from wiremap.judge.measurements import PairingMethod
from wiremap.judge.run.capacitance import Groups, pair_length_m
from wiremap.judge.run.length.plugs import PlugCapacitance, contacts_side_by_side, usual_plugs
from wiremap.judge.run.network import Array, two_terminal

MOST_CONDUCTORS = 10


class PairEvidence(Struct, frozen=True):
    """Observations between conductors, to be used inside a function and let go.

    contacts: near contacts, one a conductor. column: [edge] the observation that an edge between two of them
        belongs to, edges as in numpy.triu_indices; -1 = none.
    weight: [observation] how much it speaks for partners, pF. reach: how far partners are from others in it,
        over how far they are between two single conductors.
    u_pf: [observation] its own standard uncertainty. shared_pf: [2, observation] by how much it moves where what
        plugs add to neighbouring and to every second contacts is wrong by one standard uncertainty.
    shorted: contacts that share a group with another one. level_pf: of the strongest observation. length_m: by
        what conductors show to their partners.
    """

    contacts: tuple[str, ...]
    shorted: frozenset[str]
    column: NDArray[np.intp]
    weight: Array
    reach: Array
    u_pf: Array
    shared_pf: Array
    level_pf: float
    length_m: float

    def doubt_pf(self, moved: Array) -> Array:
        """Return [m] the standard uncertainty of sums; moved: [m, observation] how often each counts."""
        weighed = moved * self.reach
        own: Array = (weighed * self.u_pf) ** 2 @ np.ones(len(self.u_pf))
        return np.asarray(np.sqrt(own + ((weighed @ self.shared_pf.T) ** 2).sum(axis=1)), dtype=np.float64)

    def columns_of(self, pairs: Sequence[tuple[str, str]]) -> list[int]:
        """Return the observations that pairs of contacts belong to; pairs that were not observed are left out."""
        first, second = np.triu_indices(len(self.contacts), 1)
        edges = [frozenset((self.contacts[i], self.contacts[j])) for i, j in zip(first, second, strict=True)]
        columns = [int(self.column[edges.index(frozenset(pair))]) for pair in pairs]
        return [column for column in columns if column >= 0]

    def seen_alone(self, edge: tuple[int, int]) -> bool:
        """Whether an edge between two of the conductors was observed, and as theirs alone."""
        i, j = edge
        size = len(self.contacts)
        number = i * size - i * (i + 1) // 2 + j - i - 1
        return bool(self.column[number] >= 0) and not self.shorted & {self.contacts[i], self.contacts[j]}


def pair_evidence(
    seen: Groups, method: PairingMethod, pattern: Pattern, limits: Limits, plugs: PlugCapacitance | None = None
) -> PairEvidence | None:
    """Return what is observed of a pattern's conductors; None where not all that are there were measured.

    plugs: what they add to direct capacitances, None = what they usually do.
    """
    shown = _shown(seen, method, limits, plugs or usual_plugs(limits))
    if shown is None:
        return None
    route = dict(pattern.conductors)
    contacts = list(route)
    rows = [seen.of_near(contact) for contact in contacts]
    for row, contact in zip(rows, contacts, strict=True):
        rest = seen.of_far(route[contact])
        if row is not None and rest is not None and not seen.far[row] and not seen.near[rest]:
            shown[:, row] += shown[:, rest]
            shown[:, :, row] += shown[:, :, rest]
    values = shown[0]
    used = sorted({row for row in rows if row is not None})
    between = values[np.ix_(used, used)]
    np.fill_diagonal(between, 0.0)
    if len(used) < 2 or np.isnan(between).all():
        return None
    most = np.nanmax(between, axis=1)
    level_pf = float(most.max())
    there = _there(used, between, method, seen.sigma_pf, limits)
    if not 2 <= len(contacts) <= MOST_CONDUCTORS or len(there) < 2:
        return None
    if np.isnan(values[np.ix_(sorted(there), sorted(there))]).any():
        return None
    level = float(np.median([value for row, value in zip(used, most.tolist(), strict=True) if row in there]))
    length_m = _length_m(seen, method, level, limits)
    shorted = frozenset(contact for names in seen.near if len(names) > 1 for contact in names)
    first, second = np.triu_indices(len(contacts), 1)
    if len(there) == len(contacts):
        places = np.array(rows)
        column, reaches = np.arange(len(first)), np.ones(len(first))
        weight, variance, *shared = shown[:, places[first], places[second]]
        u_pf = np.sqrt(variance)
        return PairEvidence(
            tuple(contacts), shorted, column, weight, reaches, u_pf, np.array(shared), level_pf, length_m
        )

    pin_pf = round(float(np.median(seen.pin_pf)), 1)
    kind = limits.materials.kind(seen.kind)
    setting = (kind, method, round(length_m, 2), pin_pf, seen.screen_tied, limits.stray_pf)
    column, weight, reaches, edges = _of_those_that_are_there(seen, values, rows, there, setting)
    _, variance, *shared = shown[:, edges[:, 0], edges[:, 1]]
    u_pf = np.sqrt(variance)
    return PairEvidence(tuple(contacts), shorted, column, weight, reaches, u_pf, np.array(shared), level_pf, length_m)


def _shown(seen: Groups, method: PairingMethod, limits: Limits, plugs: PlugCapacitance) -> Array | None:
    """Return four matrices between groups: what they show, its variance, and what the plugs' two parts may move it by.

    By grounded groups what plugs add is taken off; None where nothing was measured this way.
    """
    source = seen.direct_pf if method == "direct" else seen.two_terminal_pf
    if not source:
        return None
    values = np.array(source)
    nothing = np.zeros_like(values)
    if method != "direct":
        uneven = (limits.pairing_two_terminal_uneven * values) ** 2
        return np.stack([values, seen.sigma_pf**2 + uneven, nothing, nothing])
    neighbours, seconds = contacts_side_by_side(seen)
    p1, p2 = plugs.pf.tolist()
    variance = (limits.plug_scatter**2) * (p1**2 * neighbours + p2**2 * seconds)
    variance = variance + (seen.noise_pf or limits.pairing_floor_pf) ** 2
    values = values - p1 * neighbours - p2 * seconds
    variance = variance + (limits.pairing_uneven * values) ** 2
    parts = np.linalg.cholesky(plugs.covariance)
    shared = [next_pf * neighbours + second_pf * seconds for next_pf, second_pf in parts.T.tolist()]
    return np.stack([values, variance, *shared])


def _of_those_that_are_there(
    seen: Groups,
    values: Array,
    rows: Sequence[int | None],
    there: set[int],
    setting: tuple[KindMatrices, PairingMethod, float, float, bool, float],
) -> tuple[NDArray[np.intp], Array, Array, NDArray[np.intp]]:
    """Return column, weight, reach and rows [observation, 2] where conductors are missing or shorted together."""
    first, second = np.triu_indices(len(rows), 1)
    column = np.full(len(first), -1)
    known: dict[tuple[int, int], int] = {}
    weights: list[float] = []
    reaches: list[float] = []
    partner, other = levels(*setting, 1, 1)
    step = partner - other
    for edge, (i, j) in enumerate(zip(first.tolist(), second.tolist(), strict=True)):
        a, b = rows[i], rows[j]
        if a is None or b is None or a == b or a not in there or b not in there:
            continue
        key = (min(a, b), max(a, b))
        if key not in known:
            partner, other = levels(*setting, len(seen.near[a]), len(seen.near[b]))
            known[key] = len(weights)
            reaches.append((partner - other) / step)
            weights.append(reaches[-1] * (float(values[a, b]) - (partner + other) / 2))
        column[edge] = known[key]
    return column, np.array(weights), np.array(reaches), np.array(list(known)).reshape(-1, 2)


def _there(used: list[int], between: Array, method: PairingMethod, sigma_pf: float, limits: Limits) -> set[int]:
    """Return the groups that have a conductor.

    By grounded groups a bare contact shows nothing. Between two contacts it shows what comes round through the
    others to the tester's ground, the same to all; a conductor shows its partner more. Where one was measured against
    no other, nothing can be said of any.
    """
    shown = np.where(np.eye(len(between), dtype=bool), np.nan, between)
    if np.isnan(shown).all(axis=1).any():
        return set()
    most = np.nanmax(shown, axis=1)
    if method == "two_terminal" and len(used) > 3:
        most = most - np.nanmedian(shown, axis=1)
    least = max(limits.present_sigmas * sigma_pf, limits.present_share * float(most.max()))
    return {row for row, value in zip(used, most.tolist(), strict=True) if value > least}


@lru_cache(maxsize=1024)
def levels(
    kind: KindMatrices,
    method: PairingMethod,
    length_m: float,
    pin_pf: float,
    screen_tied: bool,
    stray_pf: float,
    one: int,
    other: int,
) -> tuple[float, float]:
    """Return what groups of `one` and `other` shorted conductors show, holding partners once, and holding none."""
    maxwell = np.array(kind.capacitance_pf_per_m) * length_m
    mine = (0, 2, 4, 6)[:one]
    holding = (1, *(k for k in (7, 5, 3) if k - 1 not in mine or other > 1))[:other]
    apart = tuple(k for k in (4, 6, 7, 5, 3) if k not in mine and k - 1 not in mine)[:other]
    shown = []
    for theirs in (holding, apart):
        rest = [(k,) for k in range(len(maxwell)) if k not in mine and k not in theirs]
        gather = np.zeros((len(maxwell), 2 + len(rest)))
        for place, members in enumerate((mine, theirs, *rest)):
            gather[list(members), place] = 1.0
        together = gather.T @ maxwell @ gather
        if method == "direct":
            shown.append(-float(together[0, 1]))
        else:
            seen = two_terminal(together, gather.sum(axis=0) * pin_pf, screen_tied, stray_pf)
            shown.append(float(seen[0, 1] + seen[1, 0]) / 2)
    return shown[0], shown[1]


def _length_m(seen: Groups, method: PairingMethod, level_pf: float, limits: Limits) -> float:
    """Return the length at which partners show this much."""
    if method == "direct":
        return level_pf / -limits.materials.kind(seen.kind).capacitance_pf_per_m[0][1]
    pin_pf = float(np.median(seen.pin_pf)) if seen.pin_pf else 0.0
    pair = limits.materials.pair
    per_m = (pair.capacitance_low_pf_per_m + pair.capacitance_high_pf_per_m) / 2
    return float(pair_length_m(np.array([level_pf]), seen.kind, pin_pf, seen.screen_tied, per_m, limits)[0])
