"""The numbers of these tables were computed apart from this project's code, from the same matrices."""

import numpy as np
import pytest

from firmware_sim.cable_model.fields.capacitance import Terminals, empty_terminals, terminal_capacitance, terminals
from firmware_sim.cable_model.laid_out.run import lay_out
from firmware_sim.cable_model.written.kinds import kinds
from firmware_sim.cable_model.written.named import load_cable
from tests.firmware_sim.cable_model.random_cables import cable
from tests.firmware_sim.parsed import parse_description

# Near contacts of T568B by conductor in matrix order: white-blue, blue, white-orange, orange, ...
PLACE = (4, 3, 0, 1, 2, 5, 6, 7)
PAIR_NUMBERS = ((0, 1), (2, 3), (4, 5), (6, 7))


def of_cable(
    kind: str, length_m: float = 1.0, pin_pf: float = 0.0, tied: bool = False, stray_pf: float = 0.0
) -> Terminals:
    """Return what a tester sees of eight conductors: pins to its ground, the reference tied to it or on stray_pf."""
    c = np.array(kinds()[kind].c_pf_per_m) * length_m
    n = len(c)
    matrix = np.zeros((n + 2, n + 2))  # conductors, reference, ground
    matrix[:n, :n] = c
    matrix[:n, n] = matrix[n, :n] = -c.sum(axis=1)
    matrix[n, n] = c.sum()
    for node, pf in [(k, pin_pf) for k in range(n)] + [(n, stray_pf)]:
        matrix[node, node] += pf
        matrix[n + 1, n + 1] += pf
        matrix[node, n + 1] -= pf
        matrix[n + 1, node] -= pf
    if tied:
        fold = np.eye(n + 2)[:, : n + 1]
        fold[n + 1, n] = 1.0
        return terminals(fold.T @ matrix @ fold, list(range(n)), n)
    return terminals(matrix + 1e-9 * np.eye(n + 2), list(range(n)), n + 1)


def seen(kind: str, length_m: float, pin_pf: float) -> Terminals:
    """Return what a tester shows of a sound cable whose far plug hangs free, jacks left out."""
    text = cable(kind, length_m, head=f"pin_pf = {pin_pf}\nscreen = 'none'")
    description = parse_description(text)
    return terminal_capacitance(description, lay_out(description), plugs=False)


@pytest.mark.parametrize(
    ("kind", "partners", "adjacent", "diagonal"),
    [
        ("UTP", (48.98, 48.54, 48.29, 48.13), (26.2, 26.5), (22.2, 22.4)),
        ("F/UTP", (49.42, 48.85, 48.53, 48.32), (32.7, 33.2), (30.3, 30.5)),
    ],
)
def test_two_terminal_capacitance_of_a_metre(
    kind: str, partners: tuple[float, ...], adjacent: tuple[float, float], diagonal: tuple[float, float]
) -> None:
    """With all else floating a wire sees its partner at about 48.5 pF/m and any other at half or two thirds of it."""
    pair = of_cable(kind).pair
    for (a, b), value in zip(PAIR_NUMBERS, partners, strict=True):
        assert pair[a, b] == pytest.approx(value, rel=1e-3)
    for a in range(8):
        for b in range(8):
            apart = (a // 2 - b // 2) % 4
            if apart in (1, 3):
                assert adjacent[0] * 0.99 < pair[a, b] < adjacent[1] * 1.01
            elif apart == 2:
                assert diagonal[0] * 0.99 < pair[a, b] < diagonal[1] * 1.01


@pytest.mark.parametrize(
    ("kind", "tied", "grounded", "direct"),
    [
        ("UTP", (53.8, 32.2, 28.6), (62.3, 62.3, 62.8), (34.8, 5.6, 0.78)),
        ("F/UTP", (69.0, 58.1, 57.9), (70.4, 70.4, 71.3), (27.3, 3.7, 0.54)),
    ],
)
def test_tied_and_grounded_capacitance_of_a_metre(
    kind: str, tied: tuple[float, ...], grounded: tuple[float, ...], direct: tuple[float, ...]
) -> None:
    """Tied screen, others grounded and direct capacitance of partner, neighbour and diagonal wires are as computed."""
    found = of_cable(kind, tied=True)
    half = (found.single[:, None] + found.single[None, :] - found.double) / 2
    for (a, b), value, own, between in zip(((2, 3), (2, 4), (0, 4)), tied, grounded, direct, strict=True):
        assert found.pair[a, b] == pytest.approx(value, rel=0.01)
        assert found.single[a] == pytest.approx(own, rel=0.01)
        assert half[a, b] == pytest.approx(between, rel=0.01, abs=0.005)


@pytest.mark.parametrize(("kind", "direct"), [("UTP", (35.2, 6.0, 1.2)), ("F/UTP", (30.6, 7.0, 3.9))])
def test_direct_capacitance_over_a_floating_reference(kind: str, direct: tuple[float, ...]) -> None:
    """With the reference on 20 pF of stray, direct values rise by a little (UTP) or by 3 pF/m (F/UTP)."""
    found = of_cable(kind, 5.0, stray_pf=20.0)
    half = (found.single[:, None] + found.single[None, :] - found.double) / 10
    for (a, b), value in zip(((2, 3), (2, 4), (0, 4)), direct, strict=True):
        assert half[a, b] == pytest.approx(value, rel=0.01, abs=0.05)


@pytest.mark.parametrize(
    ("kind", "pin_pf", "floating", "tied"),
    [
        ("UTP", 10, (0.73, 0.67, 0.62, 0.58, 0.55), (0.74, 0.68, 0.65, 0.62, 0.60)),
        ("UTP", 30, (0.83, 0.76, 0.70, 0.63, 0.57), (0.83, 0.77, 0.71, 0.66, 0.62)),
        ("F/UTP", 10, (0.82, 0.77, 0.73, 0.70, 0.68), (0.88, 0.86, 0.85, 0.85, 0.84)),
        ("F/UTP", 30, (0.89, 0.84, 0.79, 0.73, 0.69), (0.92, 0.89, 0.87, 0.86, 0.85)),
    ],
)
def test_pins_shrink_the_contrast_of_short_cables(
    kind: str, pin_pf: float, floating: tuple[float, ...], tied: tuple[float, ...]
) -> None:
    """Neighbour over partner, open socket taken off, rises on short cables as the tester's pins grow."""
    for length_m, free_ratio, tied_ratio in zip((0.5, 1.0, 2.0, 5.0, 20.0), floating, tied, strict=True):
        for found, wanted in (
            (of_cable(kind, length_m, pin_pf, stray_pf=20.0), free_ratio),
            (of_cable(kind, length_m, pin_pf, tied=True), tied_ratio),
        ):
            off = found.pair - pin_pf
            assert off[0, 2] / off[0, 1] == pytest.approx(wanted, rel=0.01)


@pytest.mark.parametrize("kind", ["UTP", "F/UTP"])
def test_description_and_bare_network_agree(kind: str) -> None:
    """A described cable, its far plug hanging free, shows what its eight conductors show as a bare network."""
    found, bare = seen(kind, 2.0, 10.0), of_cable(kind, 2.0, 10.0, stray_pf=20.0)
    for name in ("pair", "double"):
        ours = getattr(found, name)[np.ix_(PLACE, PLACE)]
        assert np.allclose(ours, getattr(bare, name), rtol=1e-6, equal_nan=True)


def test_both_plugs_in_the_tester_add_the_far_sockets() -> None:
    """With both plugs in, every conductor carries two contacts, and its capacitance to ground grows by one."""
    free, both = (
        terminal_capacitance(d, lay_out(d))
        for d in (parse_description(cable("UTP", 4.0, far=far)) for far in ("open", "tester"))
    )
    assert np.allclose(
        both.single[:8] - free.single[:8], 10.0 + np.array([1.3, 2.3, 2.6, 2.6, 2.6, 2.6, 2.3, 1.3]), atol=0.5
    )
    assert both.single[0] == both.single[9]
    assert np.isnan(both.pair[0, 9])
    assert free.pair[0, 9] == pytest.approx(free.pair[0, 10])


def test_broken_conductor_is_shared_between_its_ends() -> None:
    """A conductor broken at 11 of 18 m shows 11/18 of its direct capacitance near, the rest far."""
    description = load_cable("break-mid-run")
    found = terminal_capacitance(description, lay_out(description), plugs=False)
    direct = (found.single[:, None] + found.single[None, :] - found.double) / 2
    near, far = direct[2, 5], direct[2, 14]
    whole = 34.81 * 18
    assert near / (near + far) == pytest.approx(11 / 18, abs=0.02)
    assert near + far == pytest.approx(whole, rel=0.03)


def test_wet_core_more_than_doubles_the_pair() -> None:
    """Water in the core brings partner, neighbour and diagonal to about 125, 113 and 106 pF/m, nearly alike."""
    wet = parse_description(cable("UTP", 100.0, "wet = true", "pin_pf = 0\nstray_pf = 0"))
    found = terminal_capacitance(wet, lay_out(wet), plugs=False).pair / 100
    assert found[0, 1] == pytest.approx(125, rel=0.03)
    assert found[0, 2] == pytest.approx(113, rel=0.03)
    assert found[0, 6] == pytest.approx(106, rel=0.03)


def test_short_split_section_hides_in_a_long_run() -> None:
    """2 m of split cord behind 18 m of sound run take only 3 to 4 % off the split pins' capacitance."""
    split = load_cable("split-section")
    sound = parse_description(cable("UTP", 20.0, head="pin_pf = 10", far="tester"))
    shown, whole = (terminal_capacitance(d, lay_out(d), plugs=False).pair for d in (split, sound))
    for a, b in ((0, 1), (3, 4)):
        assert 0.025 < 1 - shown[a, b] / whole[a, b] < 0.045
    for a, b in ((2, 5), (6, 7)):
        assert shown[a, b] == pytest.approx(whole[a, b], rel=0.005)


def test_empty_sockets_show_their_pins() -> None:
    """Nothing plugged: each contact shows its own capacitance, two together twice that."""
    empty = empty_terminals(10.0)
    assert np.allclose(empty.pair[~np.eye(18, dtype=bool)], 10.0)
    assert np.allclose(empty.single, 10.0)
    assert empty.double[3, 7] == pytest.approx(20.0)


def test_long_reel_reaches_as_far() -> None:
    """Capacitance grows with length to a full reel: 305 m show 305 times a metre, within what pins add."""
    description = load_cable("reel")
    found = terminal_capacitance(description, lay_out(description), plugs=False)
    assert found.pair[3, 4] == pytest.approx(48.98 * 305, rel=0.02)
