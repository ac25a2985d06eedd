"""When echoes come back, and what a sampled reflection shows: launch impedance, steps, their sign and time.

Times are picoseconds after the middle of the tester's step, what belongs to the tester taken off.
"""

import math
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from wiremap.cable.limits import Limits
from wiremap.judge.run.echo_shape import PairLine, echo_shape, shape_times_s, usual_pair, with_resistance
from wiremap.judge.run.network import Array

if TYPE_CHECKING:
    from wiremap.reading.parts import Echo, Trace

LOGISTIC = 1.702  # a logistic curve of this slope is within 0.01 of the normal distribution function
LARGEST_STEP = 1.5
RISE_PS = 3_000.0
WINDOW_PS = 12_000.0
FALL_SPREAD = 0.03  # of its time: so far loss spreads a step


class Arrival(Struct, frozen=True):
    """time_ps: of the first echo, with its standard uncertainty; polarity: +1 open, -1 short, 0 not known."""

    time_ps: float
    u_ps: float
    polarity: int


class EchoStep(Struct, frozen=True):
    """One step in a trace: its time, height in parts of the drive (negative: falling), and what it is."""

    time_ps: float
    u_ps: float
    height: float


class Reflections(Struct, frozen=True):
    """What a trace shows. launch_ohm: None where the end answers too early to read it. steps: first echo first.

    within_launch: the end answered before the launch had settled: the line is too short for its echo to be timed.
    """

    launch_ohm: float | None
    steps: tuple[EchoStep, ...]
    within_launch: bool = False


def arrival(echo: "Echo", zero_ps: float = 0.0) -> Arrival | None:
    """Return the time of the first echo from its counts; None where most repeats saw none.

    A count n says that the echo came between n and n + 1 ticks after the start, shifted by its dither.
    """
    seen = [number for number, ticks in enumerate(echo.ticks) if ticks is not None]
    if 2 * len(seen) <= len(echo.ticks):
        return None
    ticks = np.array([echo.ticks[number] for number in seen], dtype=float)
    if echo.dither_ps is None:
        time_ps, u_ps = _mean_of_ticks(ticks * echo.tick_ps, echo.tick_ps)
    else:
        early = ticks * echo.tick_ps - np.array([echo.dither_ps[number] for number in seen])
        time_ps, u_ps = _within_ticks(early, echo.tick_ps)
    return Arrival(time_ps - echo.launch_ps - zero_ps, u_ps, echo.polarity)


def _mean_of_ticks(early_ps: Array, tick_ps: float) -> tuple[float, float]:
    """Return mean and standard uncertainty of times known to a tick; without noise repeats say the same again."""
    count = len(early_ps)
    spread = float(early_ps.std(ddof=1)) if count > 1 else 0.0
    noise = math.sqrt(max(spread**2 - tick_ps**2 / 12, 0.0))
    uneven = tick_ps / math.sqrt(12) * math.exp(-2 * (math.pi * noise / tick_ps) ** 2)
    return float(early_ps.mean()) + tick_ps / 2, math.hypot(spread / math.sqrt(count), uneven)


def _within_ticks(early_ps: Array, tick_ps: float) -> tuple[float, float]:
    """Return mean and standard deviation of the time's probability, each count saying early <= time < early + tick.

    The jitter is not known: sizes from a 50th of a tick to half of one are as likely beforehand. Where counts
    change over decides; their plain mean would keep the dither's own unevenness.
    """
    before, behind = np.unique(early_ps, return_counts=True)
    mean = float(np.median(early_ps)) + tick_ps / 2
    reach = 0.75 * tick_ps
    u_ps = reach
    for _ in range(2):
        time = mean + reach * FINE
        weight = _likely(time, before, behind, tick_ps)
        mean = float(weight @ time)
        u_ps = math.sqrt(float(weight @ (time - mean) ** 2))
        reach = min(6 * u_ps + tick_ps / 64, reach)
    return mean, u_ps


FINE = np.linspace(-1.0, 1.0, 45)
JITTERS = np.geomspace(0.02, 0.5, 6)


def _likely(time_ps: Array, before_ps: Array, counts: NDArray[np.intp], tick_ps: float) -> Array:
    """Return the probability of each time [k], where counts say before <= time < before + tick; jitter summed over."""
    total = np.full(len(time_ps), -math.inf)
    for jitter in (tick_ps * JITTERS / LOGISTIC).tolist():
        grown = np.exp(np.clip((before_ps[:, None] - time_ps) / jitter, -300.0, 300.0))
        tick = math.exp(tick_ps / jitter)
        inside = np.maximum(1 / (1 + grown) - 1 / (1 + grown * tick), 1e-12)
        total = np.logaddexp(total, counts @ np.log(inside))
    weight = np.exp(total - total.max())
    return np.asarray(weight / weight.sum(), dtype=np.float64)


def matched_arrival(
    line: PairLine, samples: Array, times_s: Array, length_m: float, near_s: Array, height: float | None = None
) -> tuple[Array, Array]:
    """Return (arrival [k], height [k]) of an echo in traces [k, n] by least squares against its known shape.

    times_s: [n], of the samples. length_m: which shape, since loss rounds it. near_s: [k], first guess, within
    a rise time. height: of the echo, None = fitted as well. The arrival is that of a lossless echo's middle.
    Gauss and Newton's iteration; with known noise this is the likeliest delay and reaches the Cramer-Rao bound.
    """
    fine, shape = shape_times_s(), echo_shape(line, length_m)
    slope = np.gradient(shape, fine)
    delay = np.array(near_s, dtype=float)
    scale = np.full(len(samples), 1.0 if height is None else height)
    for _ in range(6):
        late = times_s[None, :] - delay[:, None]
        at, steep = np.interp(late, fine, shape), np.interp(late, fine, slope)
        if height is None:
            scale = _over((samples * at).sum(axis=1), (at * at).sum(axis=1))
        missing = samples - scale[:, None] * at
        pull = -scale[:, None] * steep
        if height is None:  # what a change of height explains as well is no sign of delay
            pull = pull - at * _over((pull * at).sum(axis=1), (at * at).sum(axis=1))[:, None]
        delay = delay + _over((missing * pull).sum(axis=1), (pull * pull).sum(axis=1))
    return delay, scale


def _over(value: Array, by: Array) -> Array:
    """Return value over by; 0 where by is 0: where no sample shows the echo, it stays where it was guessed."""
    return np.divide(value, by, out=np.zeros_like(value), where=by > 0)


def delay_bound_s(slope_per_s: Array, noise: float) -> float:
    """Return the Cramer-Rao bound of a delay: noise / sqrt(sum of (ds/dt)^2), all else known, white noise."""
    return noise / math.sqrt(float((slope_per_s**2).sum()))


def reflections(trace: "Trace", limits: Limits, conductor_ohm: float | None = None) -> Reflections:
    """Return the launch impedance and the steps that a trace shows.

    conductor_ohm: resistance of a conductor of the run, which rounds an echo and makes it late; None = not known, then
    that of a usual one is taken for the length the echo comes from.
    """
    part = np.asarray(np.array(trace.microvolts, dtype=float) / trace.step_microvolts, dtype=np.float64)
    if len(part) < 2:
        return Reflections(None, ())
    times = np.asarray(trace.t0_ps + trace.dt_ps * np.arange(len(part)), dtype=np.float64)
    first = _first_excursion(times, part, limits)
    steps = () if first is None else _steps(times, part, first, conductor_ohm, limits)
    if not steps and _end_within_launch(times, part, limits):
        return Reflections(None, (), within_launch=True)
    echo_ps = steps[0].time_ps if steps else math.inf
    return Reflections(_launch(times, part, trace.drive_ohm, echo_ps, limits), steps)


def deepest_fall(trace: "Trace", limits: Limits) -> tuple[float, float] | None:
    """Return where a trace falls most between launch and end, ps, and by which part of the drive; None = nowhere.

    A fall is what the trace shows after a place less what it shows before, so that a plateau may drift; loss rounds
    what comes from far, so that it is looked at more widely. The end is where it rises most. A fall by more than
    limits.wet_deepest is a short's.
    """
    part = np.array(trace.microvolts, dtype=np.float64) / trace.step_microvolts
    times = trace.t0_ps + trace.dt_ps * np.arange(len(part))
    gap = np.maximum((RISE_PS / 2 + FALL_SPREAD * np.maximum(times, 0.0)) / trace.dt_ps, 1).astype(int)
    whole = np.concatenate([[0.0], np.cumsum(part)])
    place = np.arange(len(part))
    known = (times >= limits.trace_launch_to_ps) & (place + 3 * gap < len(part)) & (place >= 3 * gap)
    place, gap = place[known], gap[known]
    if not place.size:
        return None
    after = (whole[place + 3 * gap] - whole[place + gap]) / (2 * gap)
    before = (whole[place - gap] - whole[place - 3 * gap]) / (2 * gap)
    fall = before - after
    end = int(fall.argmin())
    inside = place + 3 * gap < place[end] - gap[end]
    if not inside.any():
        return None
    deepest = int(np.where(inside, fall, -1.0).argmax())
    depth = float(fall[deepest])
    return (float(times[place[deepest]]), depth) if limits.wet_fall < depth < limits.wet_deepest else None


def _end_within_launch(times: Array, part: Array, limits: Limits) -> bool:
    """Whether a trace without a step ends at another level than it was launched at: its step is in the launch."""
    inside = (times >= limits.trace_launch_from_ps) & (times <= limits.trace_launch_to_ps)
    if not inside.any():
        return False
    settled = float(np.median(part[len(part) // 2 :]))
    return bool(np.abs(part[inside] - settled).max() > limits.trace_settled_share)


def _launch(times: Array, part: Array, drive_ohm: float, echo_ps: float, limits: Limits) -> float | None:
    last = min(limits.trace_launch_to_ps, echo_ps - limits.trace_before_echo_ps)
    inside = (times >= limits.trace_launch_from_ps) & (times <= last)
    if not inside.any():
        return None
    level = float(part[inside].mean())
    return 2 * drive_ohm * level / (1 - level) if 0.0 < level < 1.0 else None


def _first_excursion(times: Array, part: Array, limits: Limits) -> float | None:
    """Return about when the first echo comes: where a trace is steep; a plateau only drifts. None where nothing is."""
    back = max(1, round(RISE_PS / (times[1] - times[0])))
    steep = np.abs(part[back:] - part[:-back])
    steep[times[:-back] < limits.trace_launch_from_ps] = 0.0
    highest = float(steep.max(initial=0.0))
    if highest < limits.trace_faintest_share:
        return None
    return float(times[back:][int(np.argmax(steep > highest / 2))]) - RISE_PS / 2


def _steps(
    times: Array, part: Array, begins_ps: float, conductor_ohm: float | None, limits: Limits
) -> tuple[EchoStep, ...]:
    """Fit the first echo, then look in what it leaves for a second step before a second round trip could come."""
    found: list[EchoStep] = []
    usual = usual_pair(limits.materials)
    faintest = limits.trace_faintest_share
    left = part.copy()
    at_ps = begins_ps
    window_ps = max(WINDOW_PS, 8 * float(times[1] - times[0]))
    for _ in range(2):
        length_m = max(at_ps * 1e-12 / (2 * usual.second_per_m), 0.1)
        line = usual if conductor_ohm is None else with_resistance(usual, conductor_ohm / length_m)
        until = at_ps + min(window_ps, 0.7 * at_ps)
        inside = (times >= max(at_ps - window_ps / 2, limits.trace_launch_from_ps)) & (times <= until)
        if inside.sum() < 6:
            break
        base = left[inside & (times <= at_ps - limits.trace_before_echo_ps)]
        level = float(np.median(base)) if len(base) else float(left[inside][0])
        piece = (left[inside] - level)[None, :]
        delay, height = matched_arrival(line, piece, times[inside] * 1e-12, length_m, np.array([at_ps * 1e-12]))
        time_ps, size = float(delay[0]) * 1e12, float(height[0])
        if abs(time_ps - at_ps) > window_ps / 2 or not faintest <= abs(size) <= LARGEST_STEP:
            break
        rest = piece[0] - size * np.interp(
            times[inside] * 1e-12 - delay[0], shape_times_s(), echo_shape(line, length_m)
        )
        noise = float(rest.std())
        steep = abs(size) * np.gradient(echo_shape(line, length_m), shape_times_s())
        seen = np.interp(times[inside] * 1e-12 - delay[0], shape_times_s(), steep)
        shape_u_ps = limits.trace_shape_u_ps
        u_ps = math.hypot(delay_bound_s(seen, noise) * 1e12, shape_u_ps) if (seen > 0).any() else shape_u_ps
        found.append(EchoStep(time_ps, u_ps, size))
        left = left - level - size * np.interp(times * 1e-12 - delay[0], shape_times_s(), echo_shape(line, length_m))
        later = (times > time_ps + window_ps / 2) & (times < 1.3 * time_ps)
        if not later.any():
            break
        away = np.abs(left[later])
        if float(away.max()) < max(limits.trace_second_share * abs(size), faintest):
            break
        at_ps = float(times[later][int(np.argmax(away > float(away.max()) / 2))])
    return tuple(found)
