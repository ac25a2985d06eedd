"""How a cable's conductors lie, seen by direct capacitances: twisted in pairs, as a star quad, or in a row.

Of four conductors there are three pairings. In two twisted pairs one pairing stands out and the two others are alike;
in a star quad two are alike, the four pairs of neighbours, and the conductors across from each other, which are its
pairs, show less. (middle - least) / (most - least) of the three tells which: 0 of even pairs, 1 of an even quad.
"""

from typing import Literal

import numpy as np

from wiremap.cable.limits import Limits
from wiremap.cable.patterns import Pattern
from wiremap.judge.measurements import PairingMethod
from wiremap.judge.run.capacitance import Groups
from wiremap.judge.run.length.plugs import contacts_side_by_side
from wiremap.judge.run.network import Array
from wiremap.judge.run.pairing.evidence import PairEvidence

FourLay = Literal["pairs", "quad", "mixed"]


def quad_lay(shown: PairEvidence, observed: Array, method: PairingMethod, limits: Limits) -> FourLay | None:
    """Return whether four conductors are two twisted pairs or a quad; None where nothing is clear.

    "mixed": clearly neither all along, as where pairs are exchanged in a part of the run. observed: [3, 6] which
    observations each pairing holds.
    """
    sums = observed @ shown.weight
    low, middle, top = np.argsort(sums).tolist()
    between = observed[[top, middle, middle]] - observed[[low, low, top]]
    u_all, u_low, u_high = shown.doubt_pf(between).tolist()
    apart = float(sums[top] - sums[low])
    contrast = limits.pairing_direct_contrast if method == "direct" else limits.pairing_contrast
    if apart < limits.pairing_confirmed * u_all or apart < 2 * contrast * shown.level_pf:
        return None
    ratio = float(sums[middle] - sums[low]) / apart
    u = float(np.hypot((1 - ratio) * u_low, ratio * u_high)) / apart
    if ratio - limits.quad_sigmas * u > limits.quad_middle or (ratio > limits.quad_from and u < limits.quad_from_u):
        return "quad"
    if ratio + limits.quad_sigmas * u < limits.quad_middle or (ratio < limits.quad_to and u < limits.quad_to_u):
        return "pairs"
    return "mixed" if u < limits.quad_to_u else None


def diagonals(shown: PairEvidence, observed: Array) -> tuple[int, float]:
    """Return the number of the pairing whose conductors lie across from each other, and its margin to the next."""
    sums = observed @ shown.weight
    order = np.argsort(sums)
    between = observed[order[1:]] - observed[order[0]]
    margins = (sums[order[1:]] - sums[order[0]]) / shown.doubt_pf(between)
    return int(order[0]), float(margins.min())


def in_a_row(seen: Groups, pattern: Pattern, limits: Limits) -> bool:
    """Whether the conductors lie side by side, in whatever order: all but the outer ones have two neighbours alike."""
    rows = [seen.of_near(contact) for contact, _ in pattern.conductors]
    known = [row for row in rows if row is not None]
    if seen.direct_pf is None or len(known) < limits.row_conductors or len(set(known)) < len(rows):
        return False
    neighbours, seconds = contacts_side_by_side(seen)
    bare = np.array(seen.direct_pf) - limits.plug_next_pf * neighbours - limits.plug_second_pf * seconds
    between = bare[np.ix_(known, known)]
    np.fill_diagonal(between, -np.inf)
    if np.isnan(between).any():
        return False
    first, second, third = np.sort(between, axis=1)[:, ::-1][:, :3].T
    inner = second + limits.row_u_pf > limits.row_alike * first
    level = float(np.median(first))
    alike = int((~inner).sum()) <= 2
    return level > limits.row_level_pf and alike and float(third.mean()) < limits.row_third * level + limits.row_u_pf
