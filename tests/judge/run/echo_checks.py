"""Arrival times against what theory allows: the Cramer-Rao bound, and counts of a clock with and without dither."""

import math

import numpy as np

from wiremap.cable.materials import materials
from wiremap.contact import near_contact
from wiremap.judge.run.echo import arrival, delay_bound_s, matched_arrival
from wiremap.judge.run.echo_shape import echo_shape, shape_times_s, usual_pair
from wiremap.judge.run.network import Array
from wiremap.reading.parts import Echo

PAIR = (near_contact("1"), near_contact("2"))
LINE = usual_pair(materials())
TIMES_S = np.arange(-20e-9, 100e-9, 1e-9)
LENGTHS_M = (5.0, 20.0, 50.0)
DECIBELS = (20, 30, 40, 50)


def _echo_and_slope(length_m: float, delay_s: Array) -> tuple[Array, Array]:
    """Return samples [k, n] of an echo at each delay and their slope, height 1."""
    fine, shape = shape_times_s(), echo_shape(LINE, length_m)
    late = TIMES_S[None, :] - delay_s[:, None]
    slope = np.gradient(shape, fine)
    return np.interp(late, fine, shape), np.interp(late, fine, slope)


def _bound_s(length_m: float, noise: float, height_known: bool) -> float:
    """Return the bound of the delay on a 1 ns grid; height not known: by the two-by-two information matrix."""
    echo, slope = _echo_and_slope(length_m, np.zeros(1))
    if height_known:
        return delay_bound_s(slope[0], noise)
    information = np.array(
        [
            [float((slope**2).sum()), -float((slope * echo).sum())],
            [-float((slope * echo).sum()), float((echo**2).sum())],
        ]
    )
    return noise * math.sqrt(float(np.linalg.inv(information)[0, 0]))


def matched_over_bound(seed: int, count: int) -> str:
    """Check that the matched filter's r.m.s. error is at most 1.05 times the bound, plus two standard errors."""
    rng = np.random.default_rng(seed)
    said = []
    for length_m in LENGTHS_M:
        for decibel in DECIBELS:
            noise = 10 ** (-decibel / 20)
            delay = rng.uniform(-0.5e-9, 0.5e-9, count)
            echo, _ = _echo_and_slope(length_m, delay)
            samples = echo + noise * rng.standard_normal(echo.shape)
            for height in (1.0, None):
                found, _ = matched_arrival(LINE, samples, TIMES_S, length_m, np.zeros(count), height)
                rms = float(np.sqrt(((found - delay) ** 2).mean()))
                bound = _bound_s(length_m, noise, height is not None)
                ratio = rms / bound
                assert ratio <= 1.05 + 2 / math.sqrt(2 * count), (length_m, decibel, height, ratio)
                known = "height known" if height else "height fitted"
                said.append(f"{length_m:g} m {decibel} dB {known}: {rms * 1e12:.2f} ps, {ratio:.3f} of the bound")
    return "; ".join(said)


def clock_counts(seed: int, count: int) -> str:
    """Check r.m.s. errors of counted echoes against published ones: no dither, dither not told, told, stepped."""
    rng = np.random.default_rng(seed)
    said = []
    for tick_ps, jitter_ps, repeats, published in (
        (8000.0, 300.0, 64, (2026.0, 419.0, 291.0, 144.0)),
        (8000.0, 300.0, 256, (2031.0, 205.0, 146.0, 73.0)),
        (4000.0, 300.0, 64, (879.0, 204.0, 145.0, 104.0)),
        (8000.0, 2400.0, 64, (515.0, 505.0, 422.0, 417.0)),
    ):
        for mode, limit_ps in zip(("none", "not told", "told", "stepped"), published, strict=True):
            errors = np.array([_one(mode, tick_ps, jitter_ps, repeats, rng) for _ in range(count)])
            rms = float(np.sqrt((errors**2).mean()))
            assert rms <= limit_ps * (1 + 2 * math.sqrt(1 / (2 * count)) + 0.02), (
                tick_ps,
                jitter_ps,
                repeats,
                mode,
                rms,
            )
            said.append(
                f"tick {tick_ps:g} jitter {jitter_ps:g} x{repeats} {mode}: {rms:.0f} (published {limit_ps:.0f})"
            )
    return "; ".join(said)


def _one(mode: str, tick_ps: float, jitter_ps: float, repeats: int, rng: np.random.Generator) -> float:
    true_ps = 100_000.0 + float(rng.uniform(0, tick_ps))
    dither = np.zeros(repeats)
    if mode == "stepped":
        dither = np.arange(repeats) * tick_ps / repeats
    elif mode != "none":
        dither = rng.uniform(0, tick_ps, repeats)
    counts = np.floor((true_ps + dither + jitter_ps * rng.standard_normal(repeats)) / tick_ps)
    known = tuple(dither.tolist()) if mode in ("told", "stepped") else None
    came = arrival(Echo(*PAIR, tuple(int(n) for n in counts), tick_ps, 0.0, 50.0, 1, known))
    assert came is not None
    return came.time_ps - true_ps - (tick_ps / 2 if mode == "not told" else 0.0)
