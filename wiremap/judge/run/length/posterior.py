"""One estimate of length, velocity, impedance and resistance per metre from everything measured, kind by kind.

In logarithms all that is measured is linear in what is sought, x = (ln L, ln v, ln Z0, ln r):

    delay T = L / v      capacitance C = L / (Z0 v)      impedance Z = Z0      one conductor R = r L

(telegrapher's equations of a low-loss line: v = 1/sqrt(L'C'), Z0 = sqrt(L'/C')). For one kind of cable and gauge x
has a normal prior, so its posterior and the evidence for the kind are closed forms (Bishop, Pattern Recognition and
Machine Learning, 2.3.3). The length's distribution is the mixture over kinds. T and C are no two rulers: their ratio is
the impedance, so they check each other and share what is not known of the insulation.
"""

import math
from collections.abc import Sequence
from functools import cache
from typing import Literal

import numpy as np
from msgspec import Struct

from wiremap.judge.run.network import Array

Quantity = Literal["delay", "capacitance", "impedance", "resistance", "length"]
QUANTITY_ROWS: dict[Quantity, tuple[float, float, float, float]] = {
    "delay": (1.0, -1.0, 0.0, 0.0),
    "capacitance": (1.0, -1.0, -1.0, 0.0),
    "impedance": (0.0, 0.0, 1.0, 0.0),
    "resistance": (1.0, 0.0, 0.0, 1.0),
    "length": (1.0, 0.0, 0.0, 0.0),
}
FLAT_MEAN, FLAT_U = math.log(10.0), 20.0  # of ln L before anything is measured: any length
TAIL = 1e-9
REACH = 6.0  # distributions are looked at to so many standard deviations
QUANTILE_POINTS = 81


class Observation(Struct, frozen=True):
    """What was measured of a whole cable, in SI units (s, F, ohm, m), with its relative standard uncertainty."""

    quantity: Quantity
    value: float
    u_rel: float


class Hypothesis(Struct, frozen=True):
    """One kind of cable with one gauge and metal: medians of v (m/s), Z0 (ohm), r (ohm/m), relative uncertainties.

    log_weight: logarithm of how likely it is before delay, capacitance, impedance and resistance are looked at.
    """

    kind: str
    awg: int
    clad: bool
    v: float
    v_u: float
    impedance_ohm: float
    impedance_u: float
    ohm_per_m: float
    ohm_u: float
    log_weight: float


class CableBelief(Struct, frozen=True):
    """What is believed of a cable; arrays over hypotheses [h], to be used inside a function and let go.

    weight: probabilities, sum 1. mean: [h, 4] and u: [h, 4] of ln L (m), ln v (m/s), ln Z0 (ohm), ln r (ohm/m).
    chi2: of the observations and priors about the best point, weighted over hypotheses. dof: its degrees of freedom.
    widened: by what all uncertainties were multiplied, since chi2 is more than chance explains; 1 where it is not.
    """

    hypotheses: tuple[Hypothesis, ...]
    weight: Array
    mean: Array
    u: Array
    chi2: float
    dof: int
    widened: float

    def quantiles(self, shares: Sequence[float], column: int = 0) -> tuple[float, ...]:
        """Return the values (not their logarithms) below which so much of the probability lies; column as in `mean`."""
        there = self.weight > 0
        weight, middle, u = self.weight[there], self.mean[there, column], self.u[there, column]
        grid = np.linspace(float((middle - REACH * u).min()), float((middle + REACH * u).max()), QUANTILE_POINTS)
        below = weight @ _normal_below((grid - middle[:, None]) / u[:, None])
        found = []
        for share in shares:
            place = min(max(int(below.searchsorted(share)), 1), QUANTILE_POINTS - 1)
            near = np.linspace(grid[place - 1], grid[place], QUANTILE_POINTS)
            finer = weight @ _normal_below((near - middle[:, None]) / u[:, None])
            found.append(math.exp(float(np.interp(share, finer, near))))
        return tuple(found)

    def moments(self, column: int = 0) -> tuple[float, float, float]:
        """Return mean, standard deviation between hypotheses and within them, of a logarithm."""
        mean = float(self.weight @ self.mean[:, column])
        between = math.sqrt(float(self.weight @ (self.mean[:, column] - mean) ** 2))
        within = math.sqrt(float(self.weight @ self.u[:, column] ** 2))
        return mean, between, within


@cache
def _normal_table() -> tuple[Array, Array]:
    """Return the normal distribution function at points so close that between them it is a line, to 1e-6."""
    points = np.linspace(-REACH, REACH, 6001)
    return points, np.array([0.5 * math.erfc(-value / math.sqrt(2)) for value in points.tolist()])


def _normal_below(z: Array) -> Array:
    return np.asarray(np.interp(z, *_normal_table()), dtype=np.float64)


def believe(seen: Sequence[Observation], hypotheses: Sequence[Hypothesis], tolerated_chi2: float) -> CableBelief:
    """Return the belief after what was seen; tolerated_chi2: how far chi-square may exceed its degrees of freedom.

    Where it exceeds them by more, every uncertainty grows by the root of its ratio: disagreement never narrows.
    """
    matrix = np.array([QUANTITY_ROWS[one.quantity] for one in seen])
    y = np.log([one.value for one in seen])
    noise = np.diag([one.u_rel**2 for one in seen])
    prior_mean = np.array(
        [(FLAT_MEAN, math.log(h.v), math.log(h.impedance_ohm), math.log(h.ohm_per_m)) for h in hypotheses]
    )
    prior_u = np.array([(FLAT_U, h.v_u, h.impedance_u, h.ohm_u) for h in hypotheses])
    prior = np.zeros((len(hypotheses), 4, 4))
    prior[:, range(4), range(4)] = prior_u**2
    left = y - prior_mean @ matrix.T
    across = prior @ matrix.T
    spread = matrix @ across + noise
    gain = np.linalg.solve(spread, across.swapaxes(1, 2)).swapaxes(1, 2)
    mean = prior_mean + np.einsum("hij,hj->hi", gain, left)
    covariance = prior - gain @ matrix @ prior
    chi2 = np.einsum("hi,hi->h", left, np.linalg.solve(spread, left[..., None])[..., 0])
    evidence = -0.5 * chi2 - 0.5 * np.linalg.slogdet(spread)[1] + np.array([h.log_weight for h in hypotheses])
    weight = np.exp(evidence - evidence.max())
    weight = weight / weight.sum()
    weight = np.where(weight < TAIL, 0.0, weight)
    weight = weight / weight.sum()
    whole, dof = float(weight @ chi2), max(len(seen) - 1, 0)
    widened = math.sqrt(whole / dof) if dof and whole > dof + tolerated_chi2 else 1.0
    u = np.sqrt(np.maximum(covariance[:, range(4), range(4)], 1e-16)) * widened
    return CableBelief(tuple(hypotheses), weight, mean, u, whole, dof, widened)
