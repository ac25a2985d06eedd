import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from tests.records.lots.drift_trials import resembling, steady_lots
from wiremap.records.lots.drift import LIMIT, SLACK, drift, normal_scores

Values = NDArray[np.float64]


def false_alarms(seed: int, lots: int, cables: int, phi: float) -> float:
    """Return the share of steady lots in which the CUSUM gives an alarm."""
    draw = np.random.default_rng(seed)
    alarms = [drift(0.21 + 0.004 * resembling(draw, cables, phi)).alarm_at for _ in range(lots)]
    return float(np.mean([alarm is not None for alarm in alarms]))


def delays(seed: int, lots: int, before: int, shift: float, phi: float) -> list[int | None]:
    """Return after how many cables a rise by `shift` standard deviations is found; None = not within 200."""
    draw = np.random.default_rng(seed)
    found: list[int | None] = []
    for _ in range(lots):
        values = resembling(draw, before + 200, phi)
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


@pytest.mark.parametrize("phi", [0.0, 0.2, 0.4, 0.6])
def test_a_steady_lot_seldom_alarms(phi: float) -> None:
    """False alarms: at most 1 lot of 100 cables in 100, 1 of 500 in 20, however far cables of one reel resemble.

    With 1 500 lots 0.1 to 0.5 % and 0.8 to 3.7 %.
    """
    assert false_alarms(3, 500, 100, phi) <= 0.01
    assert false_alarms(3, 400, 500, phi) <= 0.05


def test_steady_lots_of_resembling_cables() -> None:
    """Of 500 lots of 100 cables with an autocorrelation of 0.4 at most 5 alarm, where a CUSUM of single values does."""
    steady_lots(1, 500)


def mean_run(seed: int, slack: float, limit: float, runs: int, longest: int) -> float:
    """Return the mean number of standard normal values until a CUSUM with this limit gives an alarm."""
    draw = np.random.default_rng(seed)
    lengths = []
    for _ in range(runs):
        walk = np.cumsum(draw.normal(size=longest) - slack)
        over = np.flatnonzero(walk - np.minimum.accumulate(np.minimum(walk, 0.0)) > limit)
        lengths.append(int(over[0]) + 1)
    return float(np.mean(lengths))


def siegmund(slack: float, limit: float) -> float:
    """Return Siegmund's run length of a steady one-sided CUSUM (Sequential Analysis, 1985; from memory)."""
    reach = limit + 1.166
    return (math.exp(2 * slack * reach) - 2 * slack * reach - 1) / (2 * slack * slack)


def test_the_run_length_is_the_published_one() -> None:
    """With slack 0.5 and limit 5 a steady CUSUM runs for about 930 values (Montgomery, from memory), with the limit
    taken here for as long as Siegmund's formula says.
    """
    assert mean_run(4, 0.5, 5.0, 400, 20_000) == pytest.approx(930, rel=0.12)
    assert siegmund(0.5, 5.0) == pytest.approx(930, rel=0.02)
    assert mean_run(5, SLACK, LIMIT, 100, 100_000) == pytest.approx(siegmund(SLACK, LIMIT), rel=0.3)


@pytest.mark.parametrize(
    ("before", "shift", "phi", "found", "within"),
    [(50, 3.0, 0.0, 0.98, 24), (50, 2.0, 0.0, 0.95, 48), (200, 1.0, 0.0, 0.95, 48), (100, 3.0, 0.6, 0.95, 30)],
)
def test_a_rise_is_found(before: int, shift: float, phi: float, found: float, within: int) -> None:
    """After so many steady cables a rise by so many standard deviations is found, in nine lots of ten within so many.

    Of rises by 1.5 after 50 cables 89 % are found: too few before them to tell more.
    """
    seen = [delay for delay in delays(5, 200, before, shift, phi) if delay is not None]
    assert len(seen) >= found * 200
    assert np.percentile(seen, 90) <= within


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
