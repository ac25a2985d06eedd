"""Measured microstrip lines (network analyser, 1 MHz to 10 GHz), published with the documentation of scikit-rf.

They are measured data from outside this project, kept unchanged beside this file with their notice. Times are stretched
thirtyfold, so that 50 mm of microstrip is an echo such as some metres of cable give.
"""

import math
from pathlib import Path

import numpy as np
import pytest
import skrf

from wiremap.cable.limits import limits
from wiremap.cable.materials import materials
from wiremap.contact import near_contact
from wiremap.judge.run.echo import Reflections, matched_arrival, reflections
from wiremap.judge.run.echo_shape import SIGMA_S, usual_pair
from wiremap.judge.run.network import Array
from wiremap.reading.parts import Trace

LINE = usual_pair(materials())
FOLDER = Path(__file__).with_name("measured_lines")
STRETCH = 30.0
COUNT, STEP_S = 1 << 15, 10e-12
BEFORE = 200
KEPT = slice(150, 1000)
LINE_M = 0.050


def network(name: str) -> skrf.Network:
    """Return a measured network."""
    return skrf.Network(str(FOLDER / f"P1-MSL_{name}.s{2 if 'Thru' in name or 'Stepped' in name else 1}p"))


def in_time(name: str, to: int) -> tuple[Array, Array]:
    """Return (times in ps, not stretched; answer of S[to, 0] to a Gaussian step of one volt's wave)."""
    measured = network(name)
    f, s = measured.f, measured.s[:, to, 0]
    even = np.arange(COUNT // 2 + 1) * (1 / (COUNT * STEP_S))
    real = np.interp(even, np.r_[0.0, f], np.r_[s[0].real, s.real], right=0.0)
    imaginary = np.interp(even, np.r_[0.0, f], np.r_[0.0, s.imag], right=0.0)
    narrow = np.exp(-((2 * math.pi * even * SIGMA_S / STRETCH) ** 2) / 2)
    impulse = np.fft.irfft((real + 1j * imaginary) * narrow, COUNT)
    times_ps = np.asarray((np.arange(COUNT) - BEFORE + 0.5) * STEP_S * 1e12, dtype=np.float64)
    return times_ps[KEPT], np.asarray(np.cumsum(np.roll(impulse, BEFORE))[KEPT], dtype=np.float64)


def step_response(name: str) -> Trace:
    """Return what a tester would sample: a Gaussian step through 50 ohm into the line, times stretched."""
    times_ps, reflected = in_time(name, 0)
    launched = [0.5 * (1 + math.erf(t * 1e-12 * STRETCH / SIGMA_S / math.sqrt(2))) for t in times_ps.tolist()]
    volts = (np.array(launched) + reflected) / 2
    microvolts = tuple(round(value * 1e6) for value in volts.tolist())
    dt_ps = STEP_S * 1e12 * STRETCH
    return Trace(near_contact("1"), near_contact("2"), float(times_ps[0]) * STRETCH, dt_ps, microvolts, 1_000_000, 25.0)


def seen(name: str) -> Reflections:
    """Return what the judge sees in a line's reflection."""
    return reflections(step_response(name), limits())


def through_delays() -> tuple[float, float]:
    """Return (delay of a metre, delay of one connector), seconds, from the 100 and 200 mm through lines alone."""
    delays = []
    for name in ("Thru_100-P2", "Thru_200-P2"):
        times_ps, passed = in_time(name, 1)
        guess = times_ps[int(np.argmax(passed > passed.max() / 2))] * STRETCH * 1e-12
        late, _ = matched_arrival(LINE, passed[None, :], times_ps * STRETCH * 1e-12, 1.0, np.array([guess]))
        delays.append(float(late[0]) / STRETCH)
    per_m = (delays[1] - delays[0]) / 0.1
    return per_m, (delays[0] - 0.1 * per_m) / 2


def length_m(name: str) -> float:
    """Return the length at which the line ends, by its first large echo."""
    per_m, connector_s = through_delays()
    echo = max(seen(name).steps, key=lambda step: abs(step.height))
    return (echo.time_ps * 1e-12 / STRETCH / 2 - connector_s) / per_m


@pytest.mark.parametrize("name", ["Open_50", "Short_50"])
def test_length_of_a_measured_line(name: str) -> None:
    """A measured 50 mm line, open or shorted, reads within 2 mm, with velocity and one offset from other lines."""
    assert abs(length_m(name) - LINE_M) < 0.002


def test_sign_tells_open_from_short() -> None:
    """The echo of a measured open line rises, that of a shorted one falls."""
    assert seen("Open_50").steps[0].height > 0.3
    assert seen("Short_50").steps[0].height < -0.3


def test_matched_load_reflects_nothing() -> None:
    """At the end of a measured line with a matched load the step is below a hundredth of the wave."""
    per_m, connector_s = through_delays()
    end_ps = 2e12 * (connector_s + LINE_M * per_m) * STRETCH
    trace = step_response("Load_50")
    times = trace.t0_ps + trace.dt_ps * np.arange(len(trace.microvolts))
    part = 2 * np.array(trace.microvolts) / trace.step_microvolts
    before = part[(times > 0.6 * end_ps) & (times < 0.85 * end_ps)].mean()
    behind = part[(times > 1.15 * end_ps) & (times < 1.4 * end_ps)].mean()
    assert abs(behind - before) < 0.01


def test_launch_impedance_of_a_measured_line() -> None:
    """The launch plateau of the measured 50 ohm lines reads 50 ohm within 5 %."""
    ohm = seen("Open_50").launch_ohm
    assert ohm is not None
    assert abs(ohm - 50.0) < 2.5
