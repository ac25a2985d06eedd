"""Uncertainty of a length: budgets term by term, distributions propagated, methods fused.

A budget is a list of terms; the standard uncertainty is their root sum of squares (GUM, JCGM 100, 5.1). The
interval comes from the propagated distribution (JCGM 101): some terms are rectangular, and a length is a product of
an offset and a factor. It is worked out by characteristic functions instead of random trials, so that the same
reading always gives the same interval.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np

from wiremap.judge.measurements import Length, LengthMethod, Shape, Term
from wiremap.judge.run.network import Array

COVERED = (0.025, 0.975)
REACH = 6.0  # distributions are tabled to so many standard deviations
POINTS = np.linspace(-REACH, REACH, 481)
FREQUENCIES = (np.arange(600) + 0.5) * 0.4
SMOOTH = 0.02  # of a standard deviation: rounds the corners of a lone rectangle
QUANTILE_SHARES = (np.arange(64) + 0.5) / 64
WIDEST_OFFSET_U, WIDEST_FACTOR_U = 1e6, 10.0  # beyond, an interval says nothing, and its numbers would overflow
Parts = tuple[tuple[float, Shape], ...]


def standard_uncertainty(terms: Iterable[Term]) -> float:
    """Return the relative standard uncertainty of all terms together, independent of each other."""
    return math.sqrt(sum(term.u_rel**2 for term in terms))


@cache
def _sines() -> Array:
    return np.asarray(np.sin(POINTS[:, None] * FREQUENCIES), dtype=np.float64)


@lru_cache(maxsize=4096)
def _distribution(parts: Parts) -> Array:
    """Return P(sum <= x) at POINTS of a sum of independent parts (share of the standard deviation, shape).

    Gil-Pelaez: P = 1/2 + 1/pi integral of sin(t x) phi(t) / t; phi is exp(-t^2/2) of a normal part and sin(a t)/(a t)
    of a rectangular one of half-width a.
    """
    phi = np.exp(-((SMOOTH * FREQUENCIES) ** 2) / 2)
    for share, shape in parts:
        if shape == "normal":
            phi = phi * np.exp(-((share * FREQUENCIES) ** 2) / 2)
        else:
            phi = phi * np.sinc(math.sqrt(3) * share * FREQUENCIES / math.pi)
    step = FREQUENCIES[1] - FREQUENCIES[0]
    table = 0.5 + (_sines() @ (phi / FREQUENCIES)) * step / math.pi
    return np.maximum.accumulate(np.clip(table, 0.0, 1.0))


def _table(terms: Sequence[Term]) -> tuple[float, Array]:
    """Return the standard deviation of the terms' sum, and its distribution at POINTS standard deviations."""
    u = standard_uncertainty(terms)
    parts = sorted((round(term.u_rel / u, 2), term.shape) for term in terms) if u > 0 else []
    return u, _distribution(tuple(part for part in parts if part[0] > 0))


def _interval(terms: Sequence[Term]) -> tuple[float, float]:
    """Return the 2.5 and 97.5 % points of (1 + offset) exp(factor), offset and factor being sums of terms."""
    offset_u, offset = _table([term for term in terms if term.fixed])
    factor_u, factor = _table([term for term in terms if not term.fixed])
    offset_u, factor_u = min(offset_u, WIDEST_OFFSET_U), min(factor_u, WIDEST_FACTOR_U)
    factors = np.exp(factor_u * np.interp(QUANTILE_SHARES, factor, POINTS))
    if offset_u == 0:
        low, high = np.exp(factor_u * np.interp(COVERED, factor, POINTS)).tolist()
        return low, high
    reach = 4 * math.hypot(offset_u, factor_u)
    low, high = 1 - reach, math.exp(4 * factor_u) * (1 + 4 * offset_u)
    tried = np.linspace(low, high, 41)
    below = _below(tried, factors, offset_u, offset)
    ends = []
    for target in COVERED:
        place = min(max(int(below.searchsorted(target)), 1), len(tried) - 1)
        near = np.linspace(tried[place - 1], tried[place], 9)
        ends.append(float(np.interp(target, _below(near, factors, offset_u, offset), near)))
    return ends[0], ends[1]


def _below(tried: Array, factors: Array, offset_u: float, offset: Array) -> Array:
    """Return P((1 + offset) factor <= tried), the factor being any of `factors` as likely."""
    shares = np.interp((tried[:, None] / factors - 1) / offset_u, POINTS, offset)
    return np.asarray(shares.mean(axis=1), dtype=np.float64)


def estimate(pair: tuple[str, str] | None, method: LengthMethod, length_m: float, terms: Sequence[Term]) -> Length:
    """Return a length by one method, with standard uncertainty and 95 % interval."""
    low, high = _interval(terms)
    u_m = length_m * standard_uncertainty(terms)
    return Length(pair, method, length_m, u_m, max(length_m * low, 0.0), length_m * high, tuple(terms))


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
    terms = tuple(
        Term(f"{one.method}: {term.name}", weight * term.u_rel, term.shape, term.fixed)
        for one, budget, weight in zip(found, budgets, weights, strict=True)
        for term in budget
    )
    low, high = _interval(terms)
    ends = (max(mean.value * low, 0.0), mean.value * high)
    return Length(found[0].pair, "fused", mean.value, mean.u, *ends, terms, mean.chi2, mean.dof, tuple(excluded))
