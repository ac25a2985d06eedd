"""Uncertainty of a length: budgets term by term, distributions propagated, methods fused.

A budget is a list of terms; the standard uncertainty is their root sum of squares (GUM, JCGM 100, 5.1). The
interval comes from the propagated distribution (JCGM 101): some terms are rectangular, and near the ends of a
short cable a length is no linear function of them. In place of random trials each term has a fixed, evenly
filled set of values, shuffled against the others (Latin hypercube), so that the same reading always gives the
same interval.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist

import numpy as np

from wiremap.judge.capacitance_network import Array
from wiremap.judge.findings_measured import Length, LengthMethod, Term

TRIALS = 2000
MOST_TERMS = 32
EDGES = (round(0.025 * TRIALS), TRIALS - 1 - round(0.025 * TRIALS))  # 95 % lie between


@cache
def _standard_draws() -> tuple[Array, Array]:
    """Return values of unit standard deviation, normal and rectangular, [MOST_TERMS, TRIALS]."""
    even = (np.arange(TRIALS) + 0.5) / TRIALS
    normal = np.array([NormalDist().inv_cdf(p) for p in even.tolist()])
    normal /= normal.std()
    rectangular = (2 * even - 1) * math.sqrt(3)
    random = np.random.default_rng(1)
    order = np.array([random.permutation(TRIALS) for _ in range(MOST_TERMS)])
    return normal[order], rectangular[order]


def standard_uncertainty(terms: Sequence[Term]) -> float:
    """Return the relative standard uncertainty of all terms together, independent of each other."""
    return math.sqrt(sum(term.u_rel**2 for term in terms))


def _deviations(terms: Sequence[Term], first: int) -> Array:
    """Return relative deviations of a length by its terms, [TRIALS]; draws are used from number `first` on."""
    normal, rectangular = _standard_draws()
    factor = np.zeros(TRIALS)
    offset = np.zeros(TRIALS)
    for number, term in enumerate(terms, start=first):
        draws = (normal if term.shape == "normal" else rectangular)[number % MOST_TERMS]
        if term.fixed:
            offset += term.u_rel * draws
        else:
            factor += term.u_rel * draws
    deviation: Array = (1 + offset) * np.exp(factor) - 1
    return deviation


def _between(deviations: Array, length_m: float) -> tuple[float, float]:
    low, high = np.partition(deviations, EDGES)[list(EDGES)].tolist()
    return max(length_m * (1 + low), 0.0), length_m * (1 + high)


def estimate(pair: tuple[str, str] | None, method: LengthMethod, length_m: float, terms: Sequence[Term]) -> Length:
    """Return a length by one method, with standard uncertainty and 95 % interval."""
    low_m, high_m = _between(_deviations(terms, 0), length_m)
    return Length(pair, method, length_m, length_m * standard_uncertainty(terms), low_m, high_m, tuple(terms))


def at_length(found: Length, length_m: float) -> tuple[Term, ...]:
    """Return the terms of a length as they would be at another one: those that are fixed metres change their share."""
    ratio = found.length_m / length_m
    return tuple(
        Term(term.name, term.u_rel * ratio if term.fixed else term.u_rel, term.shape, term.fixed)
        for term in found.terms
    )


@dataclass(frozen=True, slots=True)
class Weighed:
    """A weighted mean: value, its standard uncertainty, chi-squared of the values about it, degrees of freedom."""

    value: float
    u: float
    chi2: float
    dof: int


def weighted_mean(values: Sequence[float], u: Sequence[float]) -> Weighed:
    """Return the mean weighted by inverse variance."""
    weights = [1 / value**2 for value in u]
    whole = sum(weights)
    mean = sum(weight * value for weight, value in zip(weights, values, strict=True)) / whole
    chi2 = sum(weight * (value - mean) ** 2 for weight, value in zip(weights, values, strict=True))
    return Weighed(mean, 1 / math.sqrt(whole), chi2, len(values) - 1)


def fuse(found: Sequence[Length], excluded: Sequence[str] = ()) -> Length:
    """Return one length of several methods, weighted by inverse relative variance; their terms must be independent.

    Weights are taken at the length of the surest method, so that a method does not weigh more for reading long.
    """
    surest = min(found, key=lambda one: one.u_m / max(one.length_m, 1e-9))
    budgets = [at_length(one, surest.length_m) for one in found]
    u_m = [surest.length_m * standard_uncertainty(terms) for terms in budgets]
    mean = weighted_mean([one.length_m for one in found], u_m)
    weights = [(mean.u / value) ** 2 for value in u_m]
    deviations = np.zeros(TRIALS)
    terms = []
    first = 0
    for one, budget, weight in zip(found, budgets, weights, strict=True):
        deviations += weight * _deviations(budget, first)
        first += len(budget)
        terms += [Term(f"{one.method}: {t.name}", weight * t.u_rel, t.shape, t.fixed) for t in budget]
    low_m, high_m = _between(deviations, mean.value)
    pair = found[0].pair
    return Length(pair, "fused", mean.value, mean.u, low_m, high_m, tuple(terms), mean.chi2, mean.dof, tuple(excluded))
