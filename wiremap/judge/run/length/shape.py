"""What the capacitances between pairs say of a cable's kind: foils, a screen that no plug takes, a quad.

A foil round each pair leaves nothing between pairs; a foil round all leaves as much as no screen does, and floats where
no plug takes it, so that even pairs that lie across from each other then share it.
"""

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from wiremap.cable.kinds import Kind, Lay
from wiremap.cable.limits import Limits
from wiremap.judge.run.network import Array


class MatrixShape(Struct, frozen=True):
    """Capacitance between pairs over that of partners.

    mean, least: over the groups of two pairs; u: of one such ratio. groups: how many groups of two pairs there are
    (six of four pairs). floating_from: above it the least ratio is a screen's that floats. screened: a screen contact
    shows the cable. lay: how the conductors lie, None = not clear.
    """

    mean: float
    least: float
    u: float
    groups: int
    floating_from: float
    screened: bool
    lay: Lay | None = None

    @property
    def screen_not_taken(self) -> bool:
        """Whether a screen is in the cable that no plug takes: all pairs share it."""
        return (
            self.lay != "row" and not self.screened and self.groups > 1 and self.least - 2 * self.u > self.floating_from
        )


def shape_of(
    direct_pf: Array,
    pairs: Sequence[tuple[int, int]],
    u_pf: float,
    floating_from: float,
    screened: bool,
    lay: Lay | None,
) -> MatrixShape | None:
    """Return the shape of direct capacitances with the plugs taken off; None with fewer than two whole pairs."""
    if len(pairs) < 2:
        return None
    a, b = np.array(pairs).T
    partners = float(direct_pf[a, b].mean())
    whole = direct_pf[a] + direct_pf[b]
    between = ((whole[:, a] + whole[:, b]) / 4)[np.tril_indices(len(pairs), -1)]
    if not partners > 0 or not np.isfinite(between).all():
        return None
    mean, least = float(between.mean()) / partners, float(between.min()) / partners
    return MatrixShape(mean, least, u_pf / partners, len(between), floating_from, screened, lay)


def log_likelihood(kind: Kind, shape: MatrixShape | None, conductors: int, limits: Limits) -> float:
    """Return the logarithm of how well a kind explains the shape, up to a constant.

    shape None: nothing is known but how many conductors there are.
    """
    told, against = 0.0, math.log(limits.spoken_against)
    if kind.pairs * 2 < conductors:
        told += against
    if shape is None:
        return told + (against if kind.lay == "quad" and conductors > 4 else 0.0)
    if shape.lay is not None and kind.lay not in (shape.lay, "wet"):
        told += against
    if shape.lay == "row" or kind.lay in ("wet", "quad", "row"):
        return told
    floating = shape.screen_not_taken
    if (kind.screen != "none") != (shape.screened or floating) and (shape.groups > 1 or shape.screened):
        told += against
    if kind.screen == "each":
        middle, u = (limits.shape_each_floating, limits.shape_floating_u) if floating else (0.0, limits.shape_each_u)
    elif floating and kind.screen == "overall":
        middle, u = limits.shape_overall_floating, limits.shape_floating_u
    else:
        middle, u = limits.shape_pairs, limits.shape_pairs_u
    u = math.hypot(u, shape.u)
    return told - 0.5 * ((shape.mean - middle) / u) ** 2 - math.log(u)
