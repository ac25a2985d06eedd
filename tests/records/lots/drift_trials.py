"""Steady lots whose cables resemble each other: how many give a false alarm, and how many by single values."""

import math

import numpy as np
from numpy.typing import NDArray

from wiremap.records.lots.drift import drift, normal_scores

Values = NDArray[np.float64]
CABLES, RESEMBLE = 100, 0.4  # of a lot; autocorrelation of neighbours cut from one reel (assumed)
MOST = 0.01  # of steady lots: who makes a lot of 100 a week looks into a false alarm once in two years
TEXTBOOK_SLACK, TEXTBOOK_LIMIT = 0.5, 5.0  # of single values, Montgomery, Introduction to Statistical Quality Control


def resembling(draw: np.random.Generator, count: int, phi: float) -> Values:
    """Return values of mean 0 and spread 1, each of which resembles the one before: autocorrelation phi."""
    new = draw.normal(size=count)
    values = new.copy()
    for n in range(1, count):
        values[n] = phi * values[n - 1] + math.sqrt(1 - phi * phi) * new[n]
    return values


def by_single_values(values: Values) -> bool:
    """Return whether the textbook's one-sided CUSUM of single values gives an alarm."""
    walk = np.cumsum(normal_scores(values) - TEXTBOOK_SLACK)
    return bool(np.any(walk - np.minimum.accumulate(np.minimum(walk, 0.0)) > TEXTBOOK_LIMIT))


def steady_lots(seed: int, count: int) -> str:
    """Of steady lots at most MOST give an alarm; a textbook CUSUM in a third and more."""
    rng = np.random.default_rng(seed)
    lots = [0.21 + 0.004 * resembling(rng, CABLES, RESEMBLE) for _ in range(count)]
    alarms = sum(drift(lot).alarm_at is not None for lot in lots)
    single = sum(by_single_values(lot) for lot in lots)
    said = f"{alarms} false alarms in {count} lots of {CABLES}, of single values {single}"
    assert alarms <= MOST * count, said
    assert single >= count / 3, said
    return said
