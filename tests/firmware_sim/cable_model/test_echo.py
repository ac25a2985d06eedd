"""Times and heights of these tables were computed apart from this project's code, from the same matrices."""

import numpy as np
import pytest

from firmware_sim.cable_model.fields.echo import (
    FULL,
    FirstEcho,
    Port,
    first_echo,
    frequencies,
    grid_for,
    in_time,
    times_s,
)
from firmware_sim.cable_model.laid_out.run import lay_out
from tests.firmware_sim.cable_model.checks import coarse_grid_agrees
from tests.firmware_sim.cable_model.random_cables import cable
from tests.firmware_sim.parsed import parse_description

PIN = {"white-orange": 0, "orange": 1, "white-green": 2, "blue": 3, "white-blue": 4, "green": 5, "white-brown": 6}
GOOD = ("white-orange", "orange")
ADJACENT = ("white-orange", "white-green")
DIAGONAL = ("white-blue", "white-green")
NS = 1e-9


def port(kind: str, length_m: float, more: str = "", head: str = "", far: str = "open") -> Port:
    """Return a T568B cable in the tester, 8 pF a contact."""
    description = parse_description(cable(kind, length_m, head="pin_pf = 8\n" + head, far=far) + more)
    return Port(description, lay_out(description))


def echo(kind: str, length_m: float, colours: tuple[str, str], more: str = "", drive_ohm: float = 50.0) -> FirstEcho:
    """Return the first echo between two conductors; it must be there."""
    found = first_echo(port(kind, length_m, more).step(PIN[colours[0]], PIN[colours[1]], drive_ohm))
    assert found is not None
    return found


def broken(conductors: str, at_m: float, kind: str = "open") -> str:
    """Return a fault of the orange pair at a place."""
    return f'[[fault]]\nkind = "{kind}"\nconductors = {conductors}\nat_m = {at_m}\n'


BOTH, ONE = '["white-orange", "orange"]', '["white-orange"]'


@pytest.mark.parametrize(
    ("kind", "length_m", "colours", "arrival_ns", "height"),
    [
        ("UTP", 1, GOOD, 9.90, None),
        ("UTP", 2, GOOD, 19.43, None),
        ("UTP", 5, GOOD, 48.00, None),
        ("UTP", 20, GOOD, 191.05, 0.376),
        ("UTP", 50, GOOD, 478.1, None),
        ("F/UTP", 20, GOOD, 192.7, None),
        ("UTP", 1, ADJACENT, 9.36, None),
        ("UTP", 2, ADJACENT, 18.16, None),
        ("UTP", 5, ADJACENT, 43.83, None),
        ("UTP", 20, ADJACENT, 169.54, 0.294),
        ("UTP", 50, ADJACENT, 422.5, None),
        ("F/UTP", 20, ADJACENT, 169.9, None),
        ("UTP", 5, DIAGONAL, 43.93, None),
        ("UTP", 20, DIAGONAL, 170.26, 0.309),
        ("UTP", 50, DIAGONAL, 424.3, None),
        ("F/UTP", 20, DIAGONAL, 170.4, None),
    ],
)
def test_echoes_of_sound_and_split_pairs(
    kind: str, length_m: float, colours: tuple[str, str], arrival_ns: float, height: float | None
) -> None:
    """Far end open: a sound pair's echo and a split pair's earlier one come when and as high as computed apart."""
    found = echo(kind, length_m, colours)
    assert found.polarity == 1
    assert found.arrival_s / NS == pytest.approx(arrival_ns, abs=0.06 + 0.0015 * arrival_ns)
    if height is not None:
        assert found.height == pytest.approx(height, abs=0.003)


@pytest.mark.parametrize(
    ("length_m", "conductors", "kind", "arrival_ns", "height"),
    [
        (5, BOTH, "open", 28.96, None),
        (20, BOTH, "open", 114.72, 0.422),
        (50, BOTH, "open", 286.6, None),
        (20, ONE, "open", 113.93, 0.338),
        (50, ONE, "open", 286.0, None),
        (5, BOTH, "short", 28.96, None),
        (20, BOTH, "short", 114.72, 0.422),
        (50, BOTH, "short", 286.6, None),
    ],
)
def test_echoes_of_faults(length_m: float, conductors: str, kind: str, arrival_ns: float, height: float | None) -> None:
    """A pair broken or shorted at 60 % answers from there, upside down when shorted."""
    found = echo("UTP", length_m, GOOD, broken(conductors, 0.6 * length_m, kind))
    assert found.polarity == (-1 if kind == "short" else 1)
    assert found.arrival_s / NS == pytest.approx(arrival_ns, abs=0.06 + 0.0015 * arrival_ns)
    if height is not None:
        assert found.height == pytest.approx(height, abs=0.003)


def test_weak_drive_shrinks_the_step() -> None:
    """Through 330 ohm the echo of 20 m comes at the same time and not half as high."""
    found = echo("UTP", 20, GOOD, drive_ohm=330.0)
    assert found.arrival_s / NS == pytest.approx(191.4, abs=0.3)
    assert found.height == pytest.approx(0.172, abs=0.003)


@pytest.mark.parametrize(
    ("kind", "colours", "launch_ohm"),
    [
        ("UTP", GOOD, 102.2),
        ("UTP", ADJACENT, 169.9),
        ("UTP", DIAGONAL, 198.6),
        ("F/UTP", GOOD, 102.4),
        ("F/UTP", ADJACENT, 138.5),
        ("F/UTP", DIAGONAL, 148.7),
    ],
)
def test_launch_plateau_tells_split_from_sound(kind: str, colours: tuple[str, str], launch_ohm: float) -> None:
    """30 ns after the launch the plateau shows the impedance between the two wires."""
    seen = port(kind, 20).step(PIN[colours[0]], PIN[colours[1]])
    level = float(np.interp(30 * NS, times_s(seen.grid), seen.volts))
    assert 100 * level / (1 - level) == pytest.approx(launch_ohm, rel=0.005)


def test_second_step_of_a_split() -> None:
    """A split pair's trace rises a second time near the sound pair's delay."""
    seen = port("UTP", 20).step(PIN["white-orange"], PIN["white-green"])
    times = times_s(seen.grid) / NS
    first, between, second = np.interp([180, 186, 205], times, seen.echo)
    assert between - first < 0.01
    assert second - between > 0.08


def test_matched_equipment_answers_nothing() -> None:
    """A port that ends the pair in 100 ohm sends no echo back, and a pair not in the plug none either."""
    quiet = port("UTP", 12, far="equipment")
    assert first_echo(quiet.step(0, 1)) is None
    assert first_echo(quiet.step(0, 2)) is not None


def test_first_echo_of_nothing_is_none() -> None:
    """A trace without any reflection has no first echo."""
    seen = port("UTP", 12).step(0, 1)
    still = type(seen)(seen.grid, seen.volts, np.zeros_like(seen.echo))
    assert first_echo(still) is None


def test_coarse_grid_gives_the_same_times() -> None:
    """The grid that fits the length gives the arrival that the full one gives."""
    assert coarse_grid_agrees(1, 3)


def test_grid_holds_the_first_round_trip() -> None:
    """A grid ends after the slowest first round trip, and never needs more than the full one does for 350 m."""
    for length_m in (0.1, 3.0, 100.0, 350.0):
        grid = grid_for(length_m)
        assert grid.window_s > 2 * length_m * 7.6 * NS + 50 * NS
        assert grid.step_s == FULL.step_s


def test_transform_of_a_plain_delay_is_the_step_later() -> None:
    """The damped transform brings back a pure delay and factor without distortion."""
    grid = grid_for(10.0)
    s = frequencies(grid)
    plain, later = in_time(np.stack([np.ones_like(s), 0.25 * np.exp(-s * 40 * grid.step_s)]), grid)
    assert np.abs(later[40:] - 0.25 * plain[:-40]).max() < 1e-7
    assert plain[-1] == pytest.approx(1.0, abs=1e-6)
    assert plain[0] == pytest.approx(0.0, abs=1e-6)
