"""How much of its length a conductor has, by what it shows to everything else on ground.

All that is measured is on ground, so a part of a conductor shows as many picofarads as it is long, whatever is broken
beside it; no kind of cable is needed. From one end alone what lies beyond a break floats: then the partner, which runs
along with it, shows less too. With c, d a conductor's capacitance and that to its partner, k = d / c, the other broken
at x of L: S = c x, S of the partner = c (L - k2 (L - x)), so that x / L = (1 - k2) s / (1 - k2 s), s the ratio of the
two. (Maxwell's matrix with the floating node taken out.)
"""

import math
from collections.abc import Collection, Sequence

import numpy as np
from msgspec import Struct

from wiremap.cable.limits import Limits
from wiremap.judge.measurements import Pairing
from wiremap.judge.run.breaks.position import Cut
from wiremap.judge.run.capacitance import Groups
from wiremap.judge.run.length.observed import bare_cable, rows_of
from wiremap.judge.run.network import Array


class Shown(Struct, frozen=True):
    """What groups show to everything, pF: [i], the plugs that they are seen to be in taken off.

    near_plug_pf: [i] what the near plug added. partner_pf: [i, j] direct capacitances, plugs taken off.
    """

    pf: Array
    near_plug_pf: Array
    partner_pf: Array


def shown_alone(seen: Groups, pairs: Pairing | None, limits: Limits) -> Shown | None:
    """Return what each group shows; None where single contacts or groups of them were not measured."""
    bare = bare_cable(() if pairs is None else pairs.pairs, seen, limits)
    if bare is None or seen.single_pf is None:
        return None
    added = bare.plugs.added(bare.neighbours.sum(axis=1), bare.seconds.sum(axis=1))
    one = added / (1 if any(seen.far) else 2)
    return Shown(np.array(seen.single_pf) - added, one, bare.direct_pf)


def cut_short(seen: Groups, pairs: Pairing, limits: Limits) -> tuple[Cut, ...]:
    """Return the conductors that end early, seen from the near end alone with the far end open.

    Of a pair the one that shows less is broken. Both are where what the other would have at its full length is far
    less than what the other pairs have.
    """
    shown = shown_alone(seen, pairs, limits)
    if shown is None:
        return ()
    rows = [
        (a, b) if shown.pf[a] <= shown.pf[b] else (b, a)
        for a, b in rows_of(pairs.pairs, seen).values()
        if a != b and len(seen.near[a]) == len(seen.near[b]) == 1
    ]
    if not rows:
        return ()
    partners_u = limits.quad_partners_u if len(rows) <= 2 else limits.partners_u  # four wires may be a star quad
    ratio = _partner_share(shown, rows)
    first = [_scene(shown, pair, ratio * max(float(shown.pf[pair[1]]), 0.0), partners_u, limits) for pair in rows]
    partner_pf = ratio * float(np.median([scene.full_pf for scene in first]))
    scenes = [_scene(shown, pair, partner_pf, partners_u, limits) for pair in rows]
    found: list[Cut] = []
    for number, scene in enumerate(scenes):
        others = [other.full_pf for place, other in enumerate(scenes) if place != number]
        usual_pf = float(np.median(others)) if others else scene.full_pf
        found += _of_pair(scene, [seen.near[row] for row in rows[number]], usual_pf, partner_pf, limits)
    if len(rows) <= 2:  # beside a broken conductor of a star quad its neighbours show less as well
        found = [cut for cut in found if cut.share < limits.broken_pair_share or cut is min(found, key=_share)]
    return tuple(found)


def _share(cut: Cut) -> float:
    return cut.share


def cut_without_pairs(seen: Groups, contacts: Collection[str], limits: Limits) -> tuple[Cut, ...]:
    """Return the conductors that show so little, seen from the near end alone, that no place in a cable explains it.

    contacts: near contacts that hold conductors.
    """
    shown = shown_alone(seen, None, limits)
    if shown is None:
        return ()
    rows = [row for row, names in enumerate(seen.near) if len(names) == 1 and names[0] in contacts]
    usual_pf = float(np.median(shown.pf[rows])) if rows else 0.0
    if not usual_pf > limits.break_sigmas * limits.break_plug_pf:
        return ()
    plug_u = limits.break_plug_pf / max(usual_pf, 1e-3)
    found = []
    for row in rows:
        share = (float(shown.pf[row]) + float(shown.near_plug_pf[row])) / usual_pf
        if share < limits.alone_share - limits.break_sigmas * plug_u:
            found.append(Cut(seen.near[row], share, math.hypot(2 * limits.conductors_u * share, plug_u)))
    return tuple(found)


class _Scene(Struct, frozen=True):
    """Two partners. short_pf, long_pf: what they show; full_pf: what the longer would if nothing beside it floated;
    between_pf: what the one shows to the other.

    differ_u_pf: by how much they may differ where they are equally long. k2: the square of d / c.
    """

    short_pf: float
    long_pf: float
    full_pf: float
    between_pf: float
    differ_u_pf: float
    k2: float
    differ: bool


def _scene(shown: Shown, pair: tuple[int, int], partner_pf: float, partners_u: float, limits: Limits) -> _Scene:
    """Return what two partners show; partner_pf: d times the run's length.

    c times it, from b = c - (d / c)^2 (c - a): a root near b.
    """
    a, b = (float(shown.pf[row]) for row in pair)
    level = max(b, 0.0)
    walk = limits.asymmetry_pf_per_root_m * math.sqrt(2 * (len(shown.pf) - 1) * level / limits.usual_pf_per_m)
    u = math.hypot(partners_u * level, walk, limits.break_plug_pf)
    differ = b - a > limits.break_sigmas * u
    short = a + float(shown.near_plug_pf[pair[0]]) if differ else a
    full = max((a + b) / 2, 1e-3)
    if differ:
        full = max(b, 1e-3)
        for _ in range(30):
            full = b + min(partner_pf / full, 0.95) ** 2 * max(full - short, 0.0)
    k2 = min(partner_pf / full, 0.95) ** 2
    return _Scene(short, b, full, float(shown.partner_pf[pair]), u, k2, differ)


def _partner_share(shown: Shown, rows: Sequence[tuple[int, int]]) -> float:
    """Return d / c of the pairs: along the shorter one of each both are there, so its own two values give it."""
    most = max(float(shown.pf[a]) for a, _ in rows)
    ratios = [float(shown.partner_pf[a, b] / shown.pf[a]) for a, b in rows if shown.pf[a] > max(0.3 * most, 1e-3)]
    return min(float(np.median(ratios)), 0.95) if ratios else 0.0


def _of_pair(
    scene: _Scene, names: Sequence[tuple[str, ...]], usual_pf: float, partner_pf: float, limits: Limits
) -> list[Cut]:
    """Return the cuts of a pair; usual_pf: what other pairs have, partner_pf: what they have between partners."""
    first, second = names
    usual_u = math.hypot(limits.pairs_u, limits.break_plug_pf / max(usual_pf, 1e-3))
    if scene.full_pf < (limits.broken_pair_share - 2 * limits.break_plug_pf / max(usual_pf, 1e-3)) * usual_pf:
        plug_u = limits.break_plug_pf / usual_pf
        if not scene.differ:
            at = scene.full_pf / usual_pf
            apart_pf = (1 - scene.k2) * (1 - at) * usual_pf  # what they would differ by, were one of them whole
            both = apart_pf > limits.one_broken_sigmas * scene.differ_u_pf
            named = (first, second) if both else ((*first, *second),)
            return [Cut(name, at, math.hypot(usual_u * at, plug_u)) for name in named]
        short, long = scene.short_pf / usual_pf, _longer(scene.short_pf, scene.long_pf, scene.k2, usual_pf)
        return [Cut(name, at, math.hypot(usual_u * at, plug_u)) for name, at in ((first, short), (second, long))]
    if not scene.differ:
        return []
    most_pf = (scene.short_pf / scene.full_pf + limits.partners_part) * partner_pf
    if scene.between_pf > most_pf + limits.break_sigmas * limits.break_plug_pf:
        return []  # they run along with one another farther than the shorter would reach: no partners, or no break
    share = scene.short_pf / scene.full_pf
    plug_u = limits.break_plug_pf / scene.full_pf
    own_u = scene.differ_u_pf / scene.full_pf
    doubt = max(0.0, 1 - scene.full_pf / usual_pf - 2 * usual_u)  # the longer may end early, too
    return [Cut(first, share, math.hypot(plug_u, own_u * share / (1 - scene.k2), doubt * share))]


def _longer(short_pf: float, long_pf: float, k2: float, usual_pf: float) -> float:
    """Return where the longer of two broken partners ends, a share: S = x - k2 (x - short)^2 / (1 - short)."""
    short = min(short_pf / usual_pf, 0.999)
    x = np.linspace(max(short, 0.0), 1.0, 201)
    shows = x - k2 * (x - short) ** 2 / (1 - short)
    return float(np.interp(long_pf / usual_pf, shows, x))
