"""Drift of a number over a lot: one self-starting, one-sided CUSUM of the means of small batches.

Hawkins, "Self-starting CUSUM charts for location and scale", The Statistician 36 (1987): each value is compared
with the mean and spread of those before it, so that no trial period is needed, and turned into a normal score.
The score of Student's t is Wallace's, Annals of Mathematical Statistics 30 (1959).
Cables cut one after the other from one reel resemble each other, which single values take for a drift. Means of
batches resemble each other far less, and their spread has the resemblance in it (Runger and Willemain, "Batch-means
control charts for autocorrelated data", IIE Transactions 28 (1996); from memory).
"""

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

BATCH = 6  # values; at an autocorrelation of 0.6 neighbouring means have one of about 0.25
SLACK = 0.75  # of a batch's mean, in its own standard deviations: half of a shift by 0.6 of a single value's
LIMIT = 5.0  # false alarms by simulation: test_drift.py
CLIP = 3.0  # one odd batch alone never reaches the limit
FEWEST = 5  # batches before the spread of those before it means anything


class Drift(Struct, frozen=True):
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
    batches = len(x) // BATCH
    scores = normal_scores(x[: batches * BATCH].reshape(batches, BATCH).mean(axis=1))
    walk = np.cumsum(np.minimum(scores, CLIP) - SLACK)
    lowest = np.minimum.accumulate(np.minimum(walk, 0.0))
    over = np.flatnonzero(walk - lowest > LIMIT)
    if not over.size:
        return Drift(len(x))
    last = int(over[0])
    alarm = (last + 1) * BATCH - 1
    zeros = np.flatnonzero(walk[: last + 1] <= lowest[: last + 1])
    began = (int(zeros[-1]) + 1) * BATCH if zeros.size else 0
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
