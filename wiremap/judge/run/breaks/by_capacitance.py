"""Where a conductor is broken, by two-terminal capacitances: the network with a break in it, fitted to what was seen.

Two-terminal values of a part of a conductor are no measure of its length: they have a part that comes round
through other contacts to the tester's ground, and the other conductors float too.
"""

import math
from collections.abc import Sequence

import numpy as np

from wiremap.cable.limits import Limits
from wiremap.cable.materials import KindMatrices
from wiremap.judge.measurements import Pairing
from wiremap.judge.run.breaks.position import Cut
from wiremap.judge.run.capacitance import Groups, pair_length_m
from wiremap.judge.run.network import Array, two_terminal

BREAK_SHARES = np.linspace(0.0, 1.0, 81)


def share_by_two_terminal(
    seen: Groups, pairs: Pairing, near: int | None, far: int | None, whole: Sequence[int], limits: Limits
) -> tuple[float, float] | None:
    """Return at which share of its length from the near end a conductor is broken, and its standard uncertainty.

    near, far: groups of its near and far part, None = not in that plug, or not seen. whole: groups of conductors
    that are whole. None where the pairs do not say which conductors are partners.
    """
    if seen.two_terminal_pf is None:
        return None
    conductors = _in_pairs(seen, pairs, near)
    others = [row for row in conductors if row in whole and row != near]
    if near not in conductors or len(others) < 3:
        return None
    values = np.array(seen.two_terminal_pf)
    length_m = _length_m(seen, pairs, values, whole, near, limits)
    if length_m is None:
        return None
    kind = limits.materials.kind(seen.kind)
    broken = conductors.index(near)
    parts = [(row, node) for row, node in ((near, broken), (far, len(conductors))) if row is not None]
    measured = np.array([values[row, other] for row, _ in parts for other in others])
    unbroken = _broken_network(seen, kind, conductors, broken, far, 1.0, length_m, limits.stray_pf)
    scale = _scale(seen, values, conductors, others, unbroken)
    misfit = []
    for share in BREAK_SHARES.tolist():
        shown = _broken_network(seen, kind, conductors, broken, far, share, length_m, limits.stray_pf)
        expected = [
            scale * _as_measured(shown, node, conductors.index(other), _driven_share(seen, row, other))
            for row, node in parts
            for other in others
        ]
        misfit.append(float(((measured - np.array(expected)) ** 2).sum()))
    return _least(np.array(misfit), len(measured), seen.sigma_pf, limits.materials.pair.capacitance_u)


def _scale(seen: Groups, values: Array, conductors: Sequence[int], others: Sequence[int], shown: Array) -> float:
    """Return by how much whole conductors of different pairs show more than the network says."""
    seen_pf = expected_pf = 0.0
    for row in others:
        for other in others:
            i, j = conductors.index(row), conductors.index(other)
            if row < other and i ^ 1 != j:
                seen_pf += float(values[row, other])
                expected_pf += _as_measured(shown, i, j, _driven_share(seen, row, other))
    return seen_pf / expected_pf if expected_pf > 0 else 1.0


def _least(misfit: Array, count: int, sigma_pf: float, model_u: float) -> tuple[float, float]:
    """Return where the misfit is least, by a parabola through the three lowest, and how far one unit of it reaches."""
    place = min(max(int(misfit.argmin()), 1), len(misfit) - 2)
    low, middle, high = (float(value) for value in misfit[place - 1 : place + 2])
    step = float(BREAK_SHARES[1] - BREAK_SHARES[0])
    curve = max(low + high - 2 * middle, 1e-12)
    share = float(BREAK_SHARES[place]) + step * 0.5 * (low - high) / curve
    noise = math.hypot(sigma_pf, math.sqrt(max(middle, 0.0) / max(count - 1, 1)))
    return min(max(share, 0.0), 1.0), math.hypot(noise * step * math.sqrt(2 / curve), model_u * min(share, 1 - share))


def _in_pairs(seen: Groups, pairs: Pairing, near: int | None) -> list[int]:
    """Return the groups of paired conductors, partners side by side; those shorted with others left out."""
    order = []
    for pair in pairs.pairs:
        rows = [seen.of_near(contact) for contact in pair]
        if (
            None not in rows
            and len({*rows}) == 2
            and all(len(seen.near[row]) == 1 or row == near for row in rows if row is not None)
        ):
            order += [row for row in rows if row is not None]
    return order


def _length_m(
    seen: Groups, pairs: Pairing, values: Array, whole: Sequence[int], near: int | None, limits: Limits
) -> float | None:
    """Return the length at which the kind's matrix shows what the whole pairs show."""
    shown = []
    for pair in pairs.pairs:
        one, other = (seen.of_near(contact) for contact in pair)
        if one in whole and other in whole and near not in (one, other):
            shown.append(float(values[one, other]))
    if not shown:
        return None
    spread = limits.materials.pair
    per_m = (spread.capacitance_low_pf_per_m + spread.capacitance_high_pf_per_m) / 2
    pin_pf = float(np.median(seen.pin_pf))
    level = np.array([np.median(shown)])
    return float(pair_length_m(level, seen.kind, pin_pf, seen.screen_tied, per_m, limits)[0])


def _broken_network(
    seen: Groups,
    kind: KindMatrices,
    conductors: Sequence[int],
    broken: int,
    far: int | None,
    share: float,
    length_m: float,
    stray_pf: float,
) -> Array:
    """Return what each two nodes show, [driven, low]; the last node is the far part of the broken conductor."""
    maxwell = _even_matrix(kind, len(conductors)) * length_m
    size = len(conductors)
    whole = np.zeros((size + 1, size + 1))
    whole[:size, :size] = maxwell
    others = [k for k in range(size) if k != broken]
    whole[broken, others] = whole[others, broken] = maxwell[broken, others] * share
    whole[broken, broken] = maxwell[broken, broken] * share
    whole[size, others] = whole[others, size] = maxwell[broken, others] * (1 - share)
    whole[size, size] = maxwell[broken, broken] * (1 - share)
    pins = np.array([*(seen.pin_pf[row] for row in conductors), 0.0 if far is None else seen.pin_pf[far]])
    return two_terminal(whole, np.maximum(pins, 0.01), seen.screen_tied, stray_pf)


def _even_matrix(kind: KindMatrices, size: int) -> Array:
    """Return the kind's matrix of a metre with all pairs alike, partners side by side: how they lie is not known."""
    per_m = np.array(kind.capacitance_pf_per_m)
    count = len(per_m)
    partner = np.arange(count) ^ 1
    own, between = float(np.diagonal(per_m).mean()), float(per_m[np.arange(count), partner].mean())
    rest = float((per_m.sum() - np.trace(per_m)) / count - between) / (count - 2)
    even = np.full((size, size), rest)
    places = np.arange(size)
    even[places, places] = own
    even[places, places ^ 1] = between
    return even


def _driven_share(seen: Groups, row: int, other: int) -> float:
    """Return the share of contact pairs in which `row` is driven: of two contacts the first in order is."""
    firsts = [mine < theirs for mine in seen.places[row] for theirs in seen.places[other]]
    return sum(firsts) / len(firsts)


def _as_measured(shown: Array, node: int, other: int, driven: float) -> float:
    return float(driven * shown[node, other] + (1 - driven) * shown[other, node])


def cut_by_two_terminal(seen: Groups, pairs: Pairing, limits: Limits) -> tuple[Cut, ...]:
    """Return the conductors that end early, seen from the near end alone with the far end open.

    A pair shows as much as its shorter conductor is long; which of the two that is, the other pairs tell, where
    they see them differ enough.
    """
    values = seen.two_terminal_pf
    rows = [tuple(seen.of_near(contact) for contact in pair) for pair in pairs.pairs]
    whole = [
        (one, other)
        for one, other in rows
        if one is not None and other is not None and len(seen.near[one]) == len(seen.near[other]) == 1
    ]
    if values is None or len(whole) < 3:
        return ()
    usual = float(np.median([values[one][other] for one, other in whole]))
    found = []
    for one, other in whole:
        share = max(values[one][other] / max(usual, 1e-3), 0.0)
        if share >= limits.broken_share:
            continue
        outside = [row for pair in whole if pair != (one, other) for row in pair]
        strengths = [_strength(row, seen, outside) for row in (one, other)]
        u_pf = math.hypot(limits.pairing_two_terminal_uneven * max(strengths), limits.break_plug_pf)
        shorter = (one, other)[strengths[1] < strengths[0]]
        if abs(strengths[0] - strengths[1]) < limits.break_sigmas * u_pf:
            found.append(Cut((*seen.near[one], *seen.near[other]), math.nan, math.nan))  # nor is its place told
            continue
        cut = _from_one_end(shorter, share, seen, pairs, outside, limits)
        if cut.share < limits.broken_share:
            found.append(cut)
    return tuple(found)


def _from_one_end(row: int, share: float, seen: Groups, pairs: Pairing, outside: Sequence[int], limits: Limits) -> Cut:
    usual = max(float(np.median([_strength(other, seen, outside) for other in outside])), limits.break_plug_pf)
    u = math.hypot(limits.two_terminal_place_u * share, limits.break_plug_pf / usual)
    found = share_by_two_terminal(seen, pairs, row, None, outside, limits)
    if found is not None:
        return Cut(seen.near[row], found[0], math.hypot(found[1], u))
    return Cut(seen.near[row], share, u)


def _strength(row: int, seen: Groups, others: Sequence[int]) -> float:
    """Return what a group shows to other conductors together, pF."""
    assert seen.two_terminal_pf is not None
    return float(np.nansum([seen.two_terminal_pf[row][other] for other in others if other != row]))
