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
FAINT = 1e-6  # of a hypothesis that moves no quantile
REACH = 6.0  # distributions are looked at to so many standard deviations
QUANTILE_POINTS = 60


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


class Water(Struct, frozen=True):
    """What water in an unknown part of a run does: ln of how much slower the whole is, with its standard uncertainty.

    fuller: by how many times as much ln of the whole's capacitance grows.
    """

    slower: float
    slower_u: float
    fuller: float


class Possible(Struct, frozen=True):
    """What a cable may be, with normal priors; arrays over hypotheses [h], to be used inside a function and let go.

    mean: [h, 4] and variance: [h, 4] of ln L (m), ln v (m/s), ln Z0 (ohm), ln r (ohm/m). log_weight: [h]. water: what
    it does in a part of the run, None = it is dry.
    """

    hypotheses: tuple[Hypothesis, ...]
    mean: Array
    variance: Array
    log_weight: Array
    water: Water | None = None


def possible(hypotheses: Sequence[Hypothesis]) -> Possible:
    """Return hypotheses with their priors, weighed as they say."""
    mean = [(FLAT_MEAN, math.log(h.v), math.log(h.impedance_ohm), math.log(h.ohm_per_m)) for h in hypotheses]
    u = [(FLAT_U, h.v_u, h.impedance_u, h.ohm_u) for h in hypotheses]
    return Possible(tuple(hypotheses), np.array(mean), np.array(u) ** 2, np.array([h.log_weight for h in hypotheses]))


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
        there = self.weight > FAINT
        weight, middle, u = self.weight[there], self.mean[there, column], self.u[there, column]
        low, high = float((middle - REACH * u).min()), float((middle + REACH * u).max())
        step = (high - low) / QUANTILE_POINTS
        grid = np.asarray(low + step * np.arange(QUANTILE_POINTS + 1), dtype=np.float64)
        place = np.clip((weight @ _normal_below(grid, middle, u)).searchsorted(shares), 1, QUANTILE_POINTS)
        near = np.asarray(
            grid[place - 1, None] + step / QUANTILE_POINTS * np.arange(QUANTILE_POINTS + 1), dtype=np.float64
        )
        finer = (weight @ _normal_below(near.ravel(), middle, u)).reshape(near.shape)
        return tuple(math.exp(np.interp(*one)) for one in zip(shares, finer, near, strict=True))

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


def _normal_below(points: Array, middle: Array, u: Array) -> Array:
    """Return [h, p] how much of normal distributions [h] lies below points [p]."""
    z = (points - middle[:, None]) / u[:, None]
    return np.asarray(np.interp(z, *_normal_table()), dtype=np.float64)


def believe(seen: Sequence[Observation], may_be: Possible, tolerated_chi2: float) -> CableBelief:
    """Return the belief after what was seen; tolerated_chi2: how far chi-square may exceed its degrees of freedom.

    Where it exceeds them by more, every uncertainty grows by the root of its ratio: disagreement never narrows.
    """
    matrix = np.array([QUANTITY_ROWS[one.quantity] for one in seen])
    y = np.log([one.value for one in seen])
    noise = np.diag([one.u_rel**2 for one in seen])
    if (water := may_be.water) is not None:
        moved = np.array([{"delay": 1.0, "capacitance": water.fuller}.get(one.quantity, 0.0) for one in seen])
        y = y - water.slower * moved
        noise = noise + water.slower_u**2 * np.outer(moved, moved)
    weighed = np.linalg.inv(noise)
    told = matrix.T @ weighed
    precision = told @ matrix + np.eye(4) / may_be.variance[:, :, None]
    covariance = np.linalg.inv(precision)
    mean = (covariance @ (told @ y + may_be.mean / may_be.variance)[..., None])[..., 0]
    left = y - mean @ matrix.T
    chi2 = ((left @ weighed) * left).sum(axis=1) + ((mean - may_be.mean) ** 2 / may_be.variance).sum(axis=1)
    volume = np.linalg.det(precision) * may_be.variance.prod(axis=1)
    evidence = may_be.log_weight - 0.5 * (chi2 + np.log(volume))
    weight = np.exp(evidence - evidence.max())
    weight = weight / weight.sum()
    weight = np.where(weight < TAIL, 0.0, weight)
    weight = weight / weight.sum()
    whole, dof = float(weight @ chi2), max(len(seen) - 1, 0)
    widened = math.sqrt(whole / dof) if dof and whole > dof + tolerated_chi2 else 1.0
    u = np.sqrt(covariance[:, range(4), range(4)]) * widened
    return CableBelief(may_be.hypotheses, weight, mean, u, whole, dof, widened)
