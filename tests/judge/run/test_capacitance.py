"""Capacitance networks, and what a Reading's capacitances become."""

import numpy as np
import pytest
from msgspec.structs import replace
from numpy.typing import NDArray

from firmware_sim.cable_model.fields.capacitance import empty_terminals
from firmware_sim.cable_model.written.description import Description
from tests.firmware_sim.cable_model.population import draw, grounded_groups_pf, two_terminal_pf
from tests.judge.simulated import COUNT, described, fault, measured_reading
from wiremap.cable.limits import limits
from wiremap.cable.materials import materials
from wiremap.cable.patterns import pattern
from wiremap.calibration import Calibration
from wiremap.judge.run.capacitance import Groups, groups
from wiremap.judge.run.network import direct, pair_capacitance, two_terminal
from wiremap.judge.wiring.laid_reading import lay_reading

STRAIGHT = pattern("straight")


def grounded_groups(
    maxwell: NDArray[np.float64], pin_pf: NDArray[np.float64] | float = 0.0
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return (single [..., n], double [..., n, n]): one conductor, or two together, with all else on ground."""
    pins = np.broadcast_to(np.asarray(pin_pf, dtype=float), maxwell.shape[:-1])
    own = np.diagonal(maxwell, axis1=-2, axis2=-1) + pins
    double = own[..., :, None] + own[..., None, :] + 2 * maxwell
    return own, np.where(np.eye(maxwell.shape[-1], dtype=bool), 0.0, double)


def seen(cable: Description, calibration: Calibration | None = None, grouped: bool = True) -> Groups:
    """Return the groups of a described cable, read with hardly any noise."""
    reading = measured_reading(
        cable, noise_pf=1e-3, grouped=grouped, echoes=False, traces=False, calibration=calibration
    )
    found = groups(lay_reading(reading, STRAIGHT, limits()))
    assert found is not None
    return found


def test_three_capacitors_by_hand() -> None:
    """Between two corners of a triangle of capacitors is one of them beside the other two in series."""
    between = np.array([[0.0, 30.0, 10.0], [30.0, 0.0, 20.0], [10.0, 20.0, 0.0]])
    shown = two_terminal(np.diag(between.sum(axis=1)) - between, 0.0, False, 0.0)
    assert shown[0, 1] == pytest.approx(30 + 10 * 20 / 30, rel=1e-5)
    assert shown[0, 2] == pytest.approx(10 + 30 * 20 / 50, rel=1e-5)


@pytest.mark.parametrize("kind", ["UTP", "F/UTP"])
@pytest.mark.parametrize("tied", [False, True])
def test_two_witnesses_of_two_terminal_values(kind: str, tied: bool) -> None:
    """The judge's network shows what the simulator's shows, pins in place, whatever the length."""
    cables = draw(kind, np.array([0.3, 2.0, 40.0]), seed=5)
    theirs = two_terminal_pf(cables, 12.0, tied=tied) - 12.0
    mine = two_terminal(np.asarray(cables.maxwell_pf, dtype=np.float64), 12.0, tied, 20.0)
    apart = ~np.eye(8, dtype=bool)
    assert mine[:, apart] == pytest.approx(theirs[:, apart], rel=1e-9)


def test_pins_fall_out_of_grounded_groups() -> None:
    """The direct capacitance by grounded groups is the cable's own, whatever the contacts have."""
    cables = draw("UTP", np.array([1.0]), seed=2)
    for pin_pf in (0.0, 30.0):
        single, double = grounded_groups_pf(cables, pin_pf)
        found = direct(np.asarray(single, dtype=np.float64), np.asarray(double, dtype=np.float64))
        assert found[0][~np.eye(8, dtype=bool)] == pytest.approx(
            -cables.maxwell_pf[0][~np.eye(8, dtype=bool)], abs=1e-9
        )
        mine = grounded_groups(np.asarray(cables.maxwell_pf, dtype=np.float64), pin_pf)
        assert mine[0] == pytest.approx(single)


@pytest.mark.parametrize(
    ("kind", "partner", "adjacent", "diagonal"),
    [("UTP", (48.98, 48.54, 48.29, 48.13), 26.4, 22.3), ("F/UTP", (49.42, 48.85, 48.53, 48.32), 33.0, 30.4)],
)
def test_two_terminal_values_of_a_metre(
    kind: str, partner: tuple[float, ...], adjacent: float, diagonal: float
) -> None:
    """A metre shows partners, neighbours and diagonals as an independent reduction of the same matrices did, to 1 %."""
    shown = two_terminal(np.array(materials().kind(kind).capacitance_pf_per_m), 0.0, False, 0.0)
    assert [shown[k, k + 1] for k in (0, 2, 4, 6)] == pytest.approx(partner, rel=1e-3)
    assert shown[0, 2] == pytest.approx(adjacent, rel=0.01)
    assert shown[0, 4] == pytest.approx(diagonal, rel=0.01)


def test_far_surroundings_hardly_matter() -> None:
    """20 or 200 pF between the tester and what surrounds it changes what a pair shows by less than 4 %."""
    length_m = np.array([0.5, 5.0, 50.0])
    few = pair_capacitance(materials().kind("UTP"), length_m, 10.0, False, 20.0)
    many = pair_capacitance(materials().kind("UTP"), length_m, 10.0, False, 200.0)
    assert np.abs(many / few - 1).max() < 0.04


def test_joined_contacts_are_one_group() -> None:
    """A conductor's near and far contact are one group; its capacitance is that of the whole conductor."""
    found = seen(described(5.0))
    assert found.near == tuple((name,) for name in "12345678")
    assert found.far == found.near
    row = found.of_near("3")
    assert row is not None
    assert found.direct_pf is not None
    assert found.direct_pf[row][found.of_near("6") or 0] == pytest.approx(5 * 34.5, rel=0.05)
    assert found.pin_pf == pytest.approx([20.0] * 8)


def test_a_short_is_one_group_and_a_break_two() -> None:
    """Shorted conductors are one group, the two parts of a broken one are two."""
    short = seen(described(5.0, faults=fault("short", ("orange", "blue"), 2.0)))
    assert ("2", "4") in short.near
    broken = seen(described(5.0, faults=fault("open", ("blue",), 2.0)))
    assert len(broken.near) == 9
    near, far = broken.of_near("4"), broken.of_far("4")
    assert near is not None
    assert near != far


def test_screen_tells_the_kind() -> None:
    """A screen that shows its cable makes it a screened kind, no matter which end it is open at."""
    assert seen(described(3.0)).kind == "UTP"
    assert seen(described(3.0, kind="F/UTP", top='screen = "joined"')).kind == "F/UTP"
    for grouped in (True, False):
        at_far_end = seen(described(3.0, kind="F/UTP", top='screen = "far"'), grouped=grouped)
        assert at_far_end.kind == "F/UTP"
        assert at_far_end.screen_pf[0] < 0.05 * at_far_end.screen_pf[1]
        assert seen(described(3.0), grouped=grouped).kind == "UTP"


def test_empty_sockets_are_taken_off() -> None:
    """With the empty sockets known, unlike contacts change no capacitance of the cable."""
    usual = described(2.0)
    plain = seen(usual)
    empty = empty_terminals(usual.pin_pf)
    open_pf = np.where(np.isfinite(empty.pair), empty.pair, 0.0)
    rows = tuple(tuple(row) for row in open_pf.tolist())
    known = Calibration("1", "2026-03-01T08:00:00Z", open_pf=rows, pin_pf=usual.pin_pf)
    told = seen(usual, known)
    assert told.two_terminal_pf is not None
    assert plain.two_terminal_pf is not None
    assert np.array(told.two_terminal_pf) == pytest.approx(np.array(plain.two_terminal_pf), abs=0.2)
    one_more = np.array(rows)
    one_more[0, 1:] += 3.0
    one_more[1:, 0] += 3.0
    reading = measured_reading(usual, noise_pf=1e-3, echoes=False, traces=False)
    assert reading.capacitance is not None
    assert reading.capacitance.two_terminal_pf is not None
    raised = np.array([[np.nan if v is None else v for v in row] for row in reading.capacitance.two_terminal_pf])
    for driver in (0, COUNT):  # near and far contact 1 are one conductor; either may be the one that is driven
        raised[driver, driver + 1 :] += 3.0
        raised[driver + 1 :, driver] += 3.0
    more = tuple(tuple(None if np.isnan(v) else float(v) for v in row) for row in raised)
    larger = replace(
        reading,
        capacitance=replace(reading.capacitance, two_terminal_pf=more),
        calibration=replace(known, open_pf=tuple(tuple(row) for row in one_more.tolist())),
    )
    found = groups(lay_reading(larger, STRAIGHT, limits()))
    assert found is not None
    assert found.two_terminal_pf is not None
    assert found.pin_pf[0] == pytest.approx(2 * usual.pin_pf + 3.0, abs=0.1)
    assert np.array(found.two_terminal_pf) == pytest.approx(np.array(told.two_terminal_pf), abs=0.2)


def test_averaging_over_contacts_narrows_noise() -> None:
    """A conductor with both its contacts in the tester is read four times; half the noise is counted on."""
    found = groups(
        lay_reading(measured_reading(described(5.0), noise_pf=4.0, echoes=False, traces=False), STRAIGHT, limits())
    )
    assert found is not None
    assert found.noise_pf == pytest.approx(2.0)
    assert found.sigma_pf == pytest.approx(2.0)
    quiet = groups(
        lay_reading(measured_reading(described(5.0), noise_pf=0.1, echoes=False, traces=False), STRAIGHT, limits())
    )
    assert quiet is not None
    assert quiet.sigma_pf == limits().pairing_floor_pf


def test_without_capacitance_there_are_no_groups() -> None:
    """A reading without capacitances has no groups."""
    bare = measured_reading(described(5.0), grouped=False, two_terminal=False, echoes=False, traces=False)
    assert groups(lay_reading(bare, STRAIGHT, limits())) is None
    assert len(bare.near_contacts) == COUNT
