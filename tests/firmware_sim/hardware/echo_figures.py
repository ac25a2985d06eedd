"""Figures of an echo stage that might be added to a board: a step through coupling capacitors, 64 thresholds, 8 ns.

It stands in no netlist: gates of 10 ohm with 50 ohm each, 2 x 22 nF, a third of the difference made slow on purpose.
The line has losses but no skin effect.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from tests.firmware_sim.hardware.spice import Figure, swept

Floats = NDArray[np.float64]
HENRY, FARAD = 525e-9, 48.5e-12  # a metre
NS_A_METRE = 2e9 * float(np.sqrt(HENRY * FARAD))  # there and back
STEP_AT_NS, TICK_NS, LEVELS, SPAN_V = 100.0, 8.0, 64, 1.15
NOISE_V, JITTER_NS = 2e-3, 0.3
ECHO_V = 0.55  # away from the plateau; the coupling capacitors droop by less within LAST samples, 100 m
LAST = 130


def trace(metres: float, end_ohm: float = 1e9, ohm_a_metre: float = 0.6) -> Floats:
    """Return what the comparator's input does: rows of nanoseconds and volts, 0.25 ns apart."""
    lines = (
        "* echo stage, as its differential circuit",
        "v_gates gates 0 pwl(0 -3.3 100n -3.3 103n 3.3)",
        "r_series gates inner 120",
        "c_coupling inner pair 11n",
        "c_jack pair 0 10p",
        f".model run ltra(r={ohm_a_metre} l={HENRY} c={FARAD} g=0 len={metres} rel=1 abs=1)",
        "o_run pair 0 end 0 run",
        f"r_end end 0 {end_ohm:g}",
        "c_end end 0 10p",
        "r_sense inner input 2k",
        "r_threshold input 0 1k",
        "c_slow input 0 11.2p",
        ".tran 0.25n 1.6u 0 0.25n",
        ".control",
        "run",
        "linearize v(input)",
        "wrdata swept.txt v(input)",
        ".endc",
        ".end",
    )
    rows = np.array(swept("\n".join(lines) + "\n"))
    rows[:, 0] *= 1e9
    return rows


def counted(rows: Floats, rng: np.random.Generator) -> Floats:
    """Return the levels of samples a tick apart from the step on: how many of 64 thresholds the input passes."""
    moments = np.arange(STEP_AT_NS, rows[-1, 0] - 1.0, TICK_NS)
    volts = np.interp(moments + rng.normal(0, JITTER_NS, len(moments)), rows[:, 0], rows[:, 1])
    levels = -SPAN_V + 2 * SPAN_V * (np.arange(LEVELS) + 0.5) / LEVELS
    above = (volts[:, np.newaxis] + rng.normal(0, NOISE_V, (len(volts), LEVELS)) > levels).sum(axis=1)
    found: Floats = -SPAN_V + 2 * SPAN_V * above / LEVELS
    return found


def _passed(samples: Floats, first: int, level: float, sign: int) -> float | None:
    """Return the moment, ns from the step, at which samples pass a level."""
    over = (samples - level) * sign > 0
    for place in range(first, len(samples) - 1):
        if over[place + 1] and not over[place]:
            part = (level - samples[place]) / (samples[place + 1] - samples[place])
            return TICK_NS * (place + float(part))
    return None


def echo(samples: Floats) -> tuple[float | None, int]:
    """Return the time from launch to echo, ns, and its sign; None and 0 where there is none."""
    plateau = float(samples[3:5].mean())
    launch = _passed(samples, 0, (float(samples[0]) + plateau) / 2, 1)
    assert launch is not None
    away = np.flatnonzero(np.abs(samples[5:LAST] - plateau) > ECHO_V) + 5
    if not len(away):
        return None, 0
    sign = 1 if samples[away[0]] > plateau else -1
    height = float(samples[away[0] + 3 : away[0] + 7].mean())
    moment = _passed(samples, 3, (plateau + height) / 2, sign)
    return (None, 0) if moment is None else (moment - launch, sign)


def echoes(draws: int = 20, seed: int = 6) -> Iterator[Figure]:
    """Give open ends against one known length, a short's sign, and a matched end that answers nothing."""
    rng = np.random.default_rng(seed)

    def off(rows: Floats, metres: float) -> list[float]:
        found = [echo(counted(rows, rng))[0] for _ in range(draws)]
        assert all(one is not None for one in found), metres
        return [float(one) - NS_A_METRE * metres for one in found if one is not None]

    zero = float(np.mean(off(trace(5), 5)))
    worst = max(
        abs(one - zero) for metres in (4, 4.3, 5.2, 5.7, 10, 10.6, 20, 20.6) for one in off(trace(metres), metres)
    )
    yield Figure("echo: open ends from 4 to 20.6 m against a known 5 m: worst", "ns", 2.54, worst, 0, 3)
    rows = trace(12, end_ohm=0.1)
    signs = {echo(counted(rows, rng))[1] for _ in range(draws)}
    yield Figure("echo: sign of a short at 12 m", "", -1, float(max(signs)), -1, -1)
    short = max((one - zero for one in off(rows, 12)), key=abs)
    yield Figure(
        "echo: short at 12 m, off by", "ns", -3.3, short, -4, 4, "its zero is an open end's, with a jack on it"
    )
    matched = {echo(counted(trace(20, end_ohm=104), rng))[1] for _ in range(draws)}
    yield Figure("echo: matched end at 20 m: sign", "", 0, float(max(matched, key=abs)), 0, 0)
    for ohm, said in ((0.19, -2.6), (1.2, -5.4)):
        late = float(np.mean(off(trace(50, ohm_a_metre=ohm), 50))) - zero
        yield Figure(f"echo: open at 50 m, {ohm} ohm a metre: off by", "ns", said, late, -8, 0, "corrected by length")
