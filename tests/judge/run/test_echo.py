"""When echoes come back, and what sampled reflections show."""

import math

import numpy as np
import pytest

from tests.judge.run import echo_checks
from tests.judge.simulated import FAR_OPEN, described, fault, measured_reading
from wiremap.cable.limits import limits
from wiremap.cable.materials import materials
from wiremap.contact import near_contact
from wiremap.judge.run.echo import Reflections, arrival, reflections
from wiremap.judge.run.echo_shape import echo_shape, half_of_plateau_s, phase_delay_ratio, slowness, usual_pair
from wiremap.reading.parts import Echo, Trace

PAIR = (near_contact("1"), near_contact("2"))
LINE = usual_pair(materials())
JOINED = '[attached]\nfar = "joined"\n'


def seen(pair: str, length_m: float, near: str = "T568B", faults: str = "") -> Reflections:
    """Return what the trace of a near pair ("3-6") shows."""
    reading = measured_reading(described(length_m, near=near, faults=faults))
    a, b = pair.split("-")
    (trace,) = (one for one in reading.traces if {one.a, one.b} == {near_contact(a), near_contact(b)})
    return reflections(trace, limits())


@pytest.mark.parametrize("length_m", [1.0, 2.0, 5.0, 20.0, 50.0, 100.0])
def test_launch_impedance_of_a_sound_pair(length_m: float) -> None:
    """A sound pair launches at 100 ohm within 5 %, whatever its length from a metre up."""
    found = seen("1-2", length_m)
    assert found.launch_ohm is not None
    assert abs(found.launch_ohm - 100.0) < 5.0


@pytest.mark.parametrize("length_m", [1.0, 5.0, 20.0, 50.0])
def test_launch_impedance_of_a_split_pair(length_m: float) -> None:
    """A split pair launches far above any pair of the standard's 100 ohm + 15 %."""
    found = seen("3-6", length_m, near="in-sequence")
    assert found.launch_ohm is not None
    assert found.launch_ohm > 150.0


@pytest.mark.parametrize("length_m", [1.0, 2.0, 5.0, 20.0, 50.0, 100.0])
def test_open_end_rises(length_m: float) -> None:
    """The open end of a sound pair is one rising step of half the drive, at the time the line's delay asks for."""
    found = seen("3-6", length_m)
    (step,) = found.steps
    assert step.height == pytest.approx(0.5, abs=0.02)
    assert step.time_ps * 1e-12 == pytest.approx(2 * length_m * 4.77e-9, rel=0.03, abs=1.6e-9)


def test_short_falls() -> None:
    """A short in the run is a falling step, at its place."""
    short = seen("1-2", 20.0, faults=fault("short", ("white-orange", "orange"), 12.0)).steps[0]
    end = seen("1-2", 20.0).steps[0]
    assert short.height == pytest.approx(-0.5, abs=0.03)
    assert short.time_ps / end.time_ps == pytest.approx(0.6, abs=0.01)


def test_break_rises_early() -> None:
    """A break of both conductors is a rising step before the others' ends."""
    both = seen("1-2", 20.0, faults=fault("open", ("white-orange", "orange"), 12.0)).steps[0]
    assert both.height > 0.4
    assert both.time_ps / seen("1-2", 20.0).steps[0].time_ps == pytest.approx(0.6, abs=0.02)


def test_second_step_of_a_split() -> None:
    """A split pair's trace has a second step near the time of a sound pair's end: two groups of modes."""
    split, sound = seen("3-6", 20.0, near="in-sequence"), seen("1-2", 20.0, near="in-sequence")
    assert len(sound.steps) == 1
    first, second = split.steps[:2]
    assert first.time_ps / sound.steps[0].time_ps == pytest.approx(0.895, abs=0.02)
    assert second.time_ps / sound.steps[0].time_ps == pytest.approx(0.99, abs=0.02)
    assert 0.05 < second.height / first.height < 0.5


def test_nothing_comes_back() -> None:
    """A trace without a step has no steps, and is no length."""
    flat = Trace(*PAIR, -5000.0, 1000.0, (0,) * 5 + (1_650_000,) * 200)
    found = reflections(flat, limits())
    assert found.steps == ()
    assert found.launch_ohm == pytest.approx(100.0)


def test_counts_that_saw_no_echo() -> None:
    """Where most repeats saw no echo there is none, never a number."""
    none: tuple[int | None, ...] = (None,) * 40 + (15,) * 24
    assert arrival(Echo(*PAIR, none, 8000.0, 0.0, 50.0)) is None
    some: tuple[int | None, ...] = (None,) * 10 + (15,) * 54
    came = arrival(Echo(*PAIR, some, 8000.0, 20_000.0, 50.0, -1), zero_ps=1_000.0)
    assert came is not None
    assert came.polarity == -1
    assert came.time_ps == pytest.approx(15.5 * 8000 - 21_000)
    assert came.u_ps == pytest.approx(8000 / math.sqrt(12), rel=0.01)


def test_matched_filter_reaches_the_bound() -> None:
    """The matched filter's error is the Cramer-Rao bound's, from 20 to 50 dB, at 5, 20 and 50 m."""
    echo_checks.matched_over_bound(3, 1500)


def test_clock_counts() -> None:
    """Counts with no dither, one that was not told, one that was told and a stepped one err no more than published."""
    echo_checks.clock_counts(4, 60)


def test_uncertainty_of_an_arrival_is_honest() -> None:
    """Over many dithered echoes the error is as large as the standard uncertainty says, within 15 %."""
    rng = np.random.default_rng(9)
    z = []
    for _ in range(250):
        true_ps = 50_000 + float(rng.uniform(0, 8000))
        dither = np.arange(64) * 125.0
        ticks = np.floor((true_ps + dither + 400 * rng.standard_normal(64)) / 8000)
        came = arrival(
            Echo(
                near_contact("1"),
                near_contact("2"),
                tuple(map(int, ticks)),
                8000.0,
                0.0,
                50.0,
                1,
                tuple(dither.tolist()),
            )
        )
        assert came is not None
        z.append((came.time_ps - true_ps) / came.u_ps)
    assert float(np.std(z)) == pytest.approx(1.0, abs=0.15)


def test_shape_of_an_echo() -> None:
    """An echo starts at nothing, rises to no more than the step, and loss makes it later and slower with length."""
    halves = [half_of_plateau_s(LINE, length) for length in (1.0, 5.0, 20.0, 50.0)]
    assert halves == sorted(halves)
    for length_m in (1.0, 20.0, 50.0):
        shape = echo_shape(LINE, length_m)
        assert abs(float(shape[0])) < 1e-3
        assert float(shape.max()) < 1.0 + 1e-3


def test_slowness_falls_to_the_velocity_of_the_reference() -> None:
    """The correction for loss and rise is within 3 % from half a metre to 300 m and smooth."""
    found = slowness(LINE, np.geomspace(1.0, 300.0, 50))
    assert np.abs(found - 1).max() < 0.03
    assert np.abs(np.diff(found)).max() < 0.005
    assert 1.0 < phase_delay_ratio(LINE) < 1.05
    assert LINE.second_per_m == pytest.approx(4.71e-9, rel=0.01)


@pytest.mark.parametrize("tail", [FAR_OPEN, JOINED])
def test_sign_by_what_the_far_end_is(tail: str) -> None:
    """With the far end open the echo of the end rises; with all contacts joined there it falls."""
    height = seen("4-5", 10.0, faults=tail).steps[0].height
    assert (height > 0.3) == (tail == FAR_OPEN)
    assert (height < -0.3) == (tail == JOINED)
