"""Drift of a number over a lot: one self-starting, one-sided CUSUM.

Hawkins, "Self-starting CUSUM charts for location and scale", The Statistician 36 (1987): each value is compared
with the mean and spread of those before it, so that no trial period is needed, and turned into a normal score.
The score of Student's t is Wallace's, Annals of Mathematical Statistics 30 (1959).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

SLACK = 0.5  # half of the shift to be found, in standard deviations
LIMIT = 8.0  # a steady process crosses it once in about 19 000 values (Siegmund), so 1 lot of 500 in about 40
CLIP = 3.0  # one odd value alone never reaches the limit
FEWEST = 8  # values before the spread of those before it means anything


@dataclass(frozen=True, slots=True)
class Drift:
    """What the CUSUM says of `count` values.

    alarm_at: index of the value that crossed the limit, None = none did. began_at: index after which the sum began
    to rise, None without an alarm. rise: median from began_at on less median before it, in the values' own unit.
    """

    count: int
    alarm_at: int | None = None
    began_at: int | None = None
    rise: float | None = None


def drift(values: ArrayLike) -> Drift:
    """Return whether and where the values begin to rise; shape (n,), in the order in which they were measured."""
    x = np.asarray(values, dtype=float)
    scores = normal_scores(x)
    walk = np.cumsum(np.minimum(scores, CLIP) - SLACK)
    lowest = np.minimum.accumulate(np.minimum(walk, 0.0))
    over = np.flatnonzero(walk - lowest > LIMIT)
    if not over.size:
        return Drift(len(x))
    alarm = int(over[0])
    zeros = np.flatnonzero(walk[: alarm + 1] <= lowest[: alarm + 1])
    began = int(zeros[-1]) + 1 if zeros.size else 0
    rise = float(np.median(x[began : alarm + 1]) - np.median(x[:began])) if began else None
    return Drift(len(x), alarm, began, rise)


def normal_scores(x: np.ndarray[tuple[int], np.dtype[np.float64]]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return, for each value, the standard normal score of its distance from those before it; 0 for the first few.

    x: shape (n,). For a steady normal process the scores are independent and standard normal.
    """
    count = len(x)
    scores = np.zeros(count)
    if count <= FEWEST:
        return scores
    centred = x - x[0]
    before = np.arange(FEWEST, count)
    total = np.cumsum(centred)[before - 1]
    squares = np.cumsum(centred * centred)[before - 1]
    mean = total / before
    variance = np.maximum(squares - before * mean * mean, 0.0) / (before - 1)
    spread = np.sqrt(variance)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (centred[before] - mean) / spread * np.sqrt(before / (before + 1.0))
    t = np.where(spread > 0, t, np.sign(centred[before] - mean) * CLIP)
    freedom = before - 1.0
    size = np.sqrt(freedom * np.log1p(t * t / freedom)) * (8 * freedom + 1) / (8 * freedom + 3)
    scores[before] = np.sign(t) * size
    return scores
