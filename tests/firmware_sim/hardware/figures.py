"""All figures of the boards, in groups: what a group costs, and which stand in the quick checks."""

from collections.abc import Callable, Iterable
from itertools import chain

from tests.firmware_sim.hardware import (
    bare_figures,
    bridge_figures,
    echo_figures,
    measuring_figures,
    safety_figures,
    simulator_figures,
    time_figures,
)
from tests.firmware_sim.hardware.spice import NGSPICE, Figure, table

LENGTHS = (0.001, 0.3, 1.0, 2.0, 20.0, 90.0)


def safety(count: int) -> Iterable[Figure]:
    """Give 57 V, signatures and what must be bad; count: of the two ends of the resistors."""
    ends = (0.95, 1.05)[-count:]
    return chain(
        safety_figures.faults(),
        safety_figures.unsafe(),
        measuring_figures.gate_and_rail(),
        safety_figures.bench_signature(ends),
    )


def any_two(count: int) -> Iterable[Figure]:
    """Give 57 V between any two contacts; count: of cases."""
    return safety_figures.any_two(count)


def ohms(count: int) -> Iterable[Figure]:
    """Give ohms, films and leaks; count: corners of all parts."""
    return chain(
        measuring_figures.ohms(count),
        measuring_figures.ohms_at_worst(),
        measuring_figures.ohms_where_they_bite(),
        measuring_figures.gain_zero(),
        measuring_figures.low_level(),
        measuring_figures.low_level_steps(),
        measuring_figures.leaks(),
    )


def look(_: int) -> Iterable[Figure]:
    """Give what the look sees."""
    return chain(measuring_figures.foreign(), measuring_figures.looked_after())


def bridge(count: int) -> Iterable[Figure]:
    """Give capacitances; count: readings drawn of each."""
    return chain(
        bridge_figures.lengths(LENGTHS, LENGTHS[1:3] + LENGTHS[4:], draws=count),
        bridge_figures.noise(),
        bridge_figures.disturbed(),
        bridge_figures.levels_and_kick(),
        bridge_figures.surroundings(),
    )


def bare(_: int) -> Iterable[Figure]:
    """Give the bare board."""
    return chain(bare_figures.faults(), bare_figures.bare_signature(), bare_figures.timing())


def echo(count: int) -> Iterable[Figure]:
    """Give the echo stage that might be added; count: sweeps of each line."""
    return echo_figures.echoes(count)


def simulator(_: int) -> Iterable[Figure]:
    """Give the simulator's nodes beside the deck's."""
    return simulator_figures.simulated()


def times(_: int) -> Iterable[Figure]:
    """Give what needs no circuit."""
    return chain(time_figures.hum(), time_figures.frames(), time_figures.scans())


def shown(group: Callable[[int], Iterable[Figure]], count: int) -> str:
    """Return a group as a table; an AssertionError with the table where a figure leaves its limits."""
    if NGSPICE is None and group is not times:
        return "not run: ngspice is not installed"
    figures = list(group(count))
    text = f"{len(figures)} figures\n{table(figures)}"
    assert all(figure.holds for figure in figures), text
    return text
