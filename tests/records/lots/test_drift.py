import math

import numpy as np
import pytest
from scipy import stats

from wiremap.records.lots.drift import LIMIT, SLACK, drift, normal_scores


def false_alarms(seed: int, lots: int, cables: int) -> float:
    """Return the share of steady lots in which the CUSUM gives an alarm."""
    draw = np.random.default_rng(seed)
    return float(np.mean([drift(draw.normal(0.21, 0.004, cables)).alarm_at is not None for _ in range(lots)]))


def delays(seed: int, lots: int, before: int, shift: float) -> list[int | None]:
    """Return after how many cables a rise by `shift` standard deviations is found; None = not within 200."""
    draw = np.random.default_rng(seed)
    found: list[int | None] = []
    for _ in range(lots):
        values = draw.normal(0.0, 1.0, before + 200)
        values[before:] += shift
        alarm = drift(values).alarm_at
        found.append(None if alarm is None or alarm < before else alarm - before + 1)
    return found


def test_scores_are_those_of_student() -> None:
    """A score is the normal deviate with the same tail as Student's t of the value against those before (scipy)."""
    x = np.random.default_rng(1).normal(5.0, 2.0, 60)
    scores = normal_scores(x)
    for n in (9, 20, 40, 59):
        before = x[:n]
        t = (x[n] - before.mean()) / before.std(ddof=1) * np.sqrt(n / (n + 1))
        assert scores[n] == pytest.approx(stats.norm.ppf(stats.t.cdf(t, n - 1)), abs=0.01)


def test_scores_of_a_steady_lot_are_standard_normal() -> None:
    """Over many steady lots the scores have mean 0, standard deviation 1 and a normal shape (Kolmogorov-Smirnov)."""
    draw = np.random.default_rng(2)
    scores = np.concatenate([normal_scores(draw.normal(0.21, 0.004, 100))[10:] for _ in range(200)])
    assert scores.mean() == pytest.approx(0.0, abs=0.02)
    assert scores.std() == pytest.approx(1.0, abs=0.02)
    assert stats.kstest(scores, "norm").pvalue > 0.001


def test_a_steady_lot_seldom_alarms() -> None:
    """A steady lot of 100 cables gives a false alarm in fewer than 1 of 50, one of 500 cables in fewer than 1 of 20."""
    assert false_alarms(seed=3, lots=500, cables=100) < 1 / 50
    assert false_alarms(seed=3, lots=300, cables=500) < 1 / 20


def mean_run(seed: int, limit: float, runs: int, longest: int) -> float:
    """Return the mean number of standard normal values until a CUSUM with this limit gives an alarm."""
    draw = np.random.default_rng(seed)
    lengths = []
    for _ in range(runs):
        walk = np.cumsum(draw.normal(size=longest) - SLACK)
        over = np.flatnonzero(walk - np.minimum.accumulate(np.minimum(walk, 0.0)) > limit)
        lengths.append(int(over[0]) + 1)
    return float(np.mean(lengths))


def siegmund(limit: float) -> float:
    """Return Siegmund's run length of a steady one-sided CUSUM (Sequential Analysis, 1985; from memory)."""
    reach = limit + 1.166
    return (math.exp(2 * SLACK * reach) - 2 * SLACK * reach - 1) / (2 * SLACK * SLACK)


def test_the_run_length_is_the_published_one() -> None:
    """With slack 0.5 and limit 5 a steady CUSUM runs for about 930 values (Montgomery, from memory), with the limit
    taken here for as long as Siegmund's formula says.
    """
    assert mean_run(4, 5.0, 400, 20_000) == pytest.approx(930, rel=0.12)
    assert siegmund(5.0) == pytest.approx(930, rel=0.02)
    assert mean_run(5, LIMIT, 100, 400_000) == pytest.approx(siegmund(LIMIT), rel=0.3)


def test_a_rise_is_found_soon() -> None:
    """After 50 steady cables, a rise by 1.5 standard deviations is found within 20 cables in nine lots of ten."""
    found = [delay for delay in delays(seed=5, lots=200, before=50, shift=1.5) if delay is not None]
    assert len(found) > 0.95 * 200
    assert np.percentile(found, 90) <= 20


def test_a_rise_says_where_it_began_and_by_how_much() -> None:
    """The alarm names the cable where the rise began and the size of the rise."""
    values = np.random.default_rng(6).normal(0.200, 0.004, 120)
    values[60:] += 0.02
    found = drift(values)
    assert found.alarm_at is not None
    assert found.began_at is not None
    assert 55 <= found.began_at <= 64
    assert found.rise == pytest.approx(0.02, abs=0.004)


def test_a_fall_is_no_alarm() -> None:
    """Only a rise is wear: a fall gives no alarm."""
    values = np.random.default_rng(7).normal(0.200, 0.004, 120)
    values[60:] -= 0.02
    assert drift(values).alarm_at is None


@pytest.mark.parametrize("values", [[], [0.2], [0.2] * 100, [0.2] * 7])
def test_too_little_or_too_even_to_say(values: list[float]) -> None:
    """Few values, or values that are all the same, give no alarm."""
    assert drift(values).alarm_at is None


def test_one_odd_cable_is_no_drift() -> None:
    """One cable of another length alone never gives an alarm."""
    values = np.random.default_rng(8).normal(0.200, 0.004, 60)
    values[30] = 2.0
    assert drift(values).alarm_at is None
