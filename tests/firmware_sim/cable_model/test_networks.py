import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firmware_sim.cable_model.direct_current.networks import Network, effective_resistance
from firmware_sim.cable_model.laid_out.states import State
from firmware_sim.cable_model.tables import terminal_resistance
from firmware_sim.cable_model.written.named import load_cable
from tests.firmware_sim.cable_model.checks import networks_as_networkx, planted_networks
from tests.firmware_sim.cable_model.random_cables import cable
from tests.firmware_sim.parsed import parse_description

N, F = 0, 9  # first near and first far contact in matrix order


def seen(text: str, low_level: bool = False) -> np.ndarray:
    """Return the resistances of a cable with all its faults present."""
    description = parse_description(text)
    return terminal_resistance(State(description, frozenset(range(len(description.faults)))), low_level)


def named(name: str) -> np.ndarray:
    """Return the resistances of a named cable."""
    description = load_cable(name)
    return terminal_resistance(State(description, frozenset(range(len(description.faults)))))


def joined(ohms: np.ndarray, below: float = math.inf) -> set[tuple[int, int]]:
    """Return the pairs of contacts joined through less than so many ohms, numbered 1.. near and 11.. far, S = 9, 19."""
    name = [*range(1, 10), *range(11, 20)]
    return {(name[i], name[j]) for i, j in zip(*np.nonzero(np.triu(ohms < below, 1)), strict=True)}


def test_planted_networks_come_back() -> None:
    """A cable of any splices and faults shows the resistances that a separate nodal analysis finds."""
    assert planted_networks(1, 25)


def test_networks_as_networkx_solves_them() -> None:
    """Resistor networks have the resistance distances that networkx finds."""
    assert networks_as_networkx(1, 100)


@given(st.lists(st.floats(0.01, 1e6), min_size=1, max_size=6))
@settings(deadline=None, derandomize=True, database=None)
def test_series_adds_and_parallel_divides(ohms: list[float]) -> None:
    """Resistors in a row add; side by side their conductances add."""
    row, side = Network(), Network()
    for place, ohm in enumerate(ohms):
        row.add(place, place + 1, ohm)
        side.add("a", "b", ohm)
    assert effective_resistance(row, [0, len(ohms)])[0, 1] == pytest.approx(sum(ohms), rel=1e-9)
    assert effective_resistance(side, ["a", "b"])[0, 1] == pytest.approx(1 / sum(1 / ohm for ohm in ohms), rel=1e-9)


def test_milliohms_beside_megohms_keep_their_digits() -> None:
    """A bridge of ten megohms beside milliohms loses no digit of either."""
    network = Network([("a", "b", 1e-3), ("b", "c", 1e7), ("c", "d", 2e-3)])
    ohms = effective_resistance(network, ["a", "b", "c", "d"])
    assert ohms[0, 1] == pytest.approx(1e-3, rel=1e-6)
    assert ohms[2, 3] == pytest.approx(2e-3, rel=1e-6)
    assert ohms[0, 3] == pytest.approx(1e7 + 3e-3, abs=1e-6)


def test_zero_ohm_joins_and_inf_parts() -> None:
    """Nodes joined through nothing are one; nodes without a way between them are open."""
    network = Network()
    network.add("a", "b", 0.0)
    network.add("b", "c", 0.0)
    network.add("c", "d", math.inf)
    ohms = effective_resistance(network, ["a", "c", "d"])
    assert ohms.tolist() == [[0.0, 0.0, math.inf], [0.0, 0.0, math.inf], [math.inf, math.inf, 0.0]]


@pytest.mark.parametrize(
    ("name", "arrives"),
    [
        ("patch", [1, 2, 3, 4, 5, 6, 7, 8]),
        ("crossover", [3, 6, 1, 4, 5, 2, 7, 8]),  # TIA-568: T568A to T568B
        ("crossover-copied", [1, 2, 3, 4, 5, 6, 7, 8]),
        ("far-3-6-exchanged", [1, 2, 6, 4, 5, 3, 7, 8]),
        ("blue-reversed", [1, 2, 3, 5, 4, 6, 7, 8]),
        ("rolled-plug", [8, 7, 6, 5, 4, 3, 2, 1]),
        ("split-pair", [1, 2, 3, 4, 5, 6, 7, 8]),
        ("split-section", [1, 2, 3, 4, 5, 6, 7, 8]),
    ],
)
def test_conductors_arrive_where_they_were_crimped(name: str, arrives: list[int]) -> None:
    """Each near contact of a named cable reaches the far contact its colour was crimped into, and no other."""
    assert joined(named(name)) == {(near, 10 + far) for near, far in enumerate(arrives, 1)}


def test_sensor_cable_is_seen_through_its_adapter() -> None:
    """An M12 D cable shows at the tester's near contacts 1, 3, 2, 6, which its 1, 2, 3, 4 are wired to."""
    assert joined(named("sensor-m12d")) == {(1, 11), (2, 12), (3, 13), (6, 16), (9, 19)}
    assert joined(named("sensor-m12d-in-sequence")) == {(1, 11), (2, 13), (3, 12), (6, 16), (9, 19)}


def test_shorts_opens_and_screens() -> None:
    """A short joins both conductors at both ends, a broken one reaches nothing, an open screen stays near."""
    assert {(3, 6), (3, 13), (3, 16), (6, 13), (6, 16), (13, 16)} <= joined(named("short-two"))
    assert not any(8 in pair or 18 in pair for pair in joined(named("open-brown")))
    assert not any(6 in pair or 16 in pair for pair in joined(named("break-mid-run")))
    assert not any(9 in pair or 19 in pair for pair in joined(named("open-screen")))
    assert {(2, 9), (2, 12), (2, 19), (9, 12), (9, 19), (12, 19)} <= joined(named("short-to-screen"))


def test_far_short_with_a_broken_conductor() -> None:
    """Far 3 and 6 joined and near 6 broken leaves near 3 with both far contacts."""
    ohms = seen(
        cable("UTP", 4.0, far="tester")
        + '[[fault]]\nkind = "short"\nconductors = ["white-green", "green"]\nend = "far"\n'
        + '[[fault]]\nkind = "open"\nconductors = ["green"]\nend = "near"\n'
    )
    assert {pair for pair in joined(ohms) if set(pair) & {3, 6, 13, 16}} == {(3, 13), (3, 16), (13, 16)}


def test_terminators_of_the_device_bus() -> None:
    """Two terminators of 120 ohm show 60 ohm between CAN-H and CAN-L, one shows 120 (ISO 11898-2)."""
    assert named("device-bus")[3, 4] == pytest.approx(60.0, abs=1.0)
    assert named("device-bus-one-terminator")[3, 4] == pytest.approx(120.0, abs=0.1)
    assert named("device-bus-one-terminator")[12, 13] == pytest.approx(121.7, abs=0.3)


def test_film_breaks_down_with_current() -> None:
    """A filmed contact shows its film at low level only."""
    text = cable("UTP", 2.0, far="tester") + '[[fault]]\nkind = "film"\nconductors = ["blue"]\nohm = 30\nend = "near"\n'
    assert seen(text, low_level=True)[3, 12] - seen(text)[3, 12] == pytest.approx(30.0 - 0.05)


def test_warm_and_clad_wire() -> None:
    """Copper rises by 0.393 % a kelvin, and copper-clad aluminium of 65 % IACS has 1/0.65 of copper's resistance."""
    cold, warm = (
        seen(cable("UTP", 50.0, head=f"contact_ohm = 0\ntemperature_c = {t}", far="tester")) for t in (20, 40)
    )
    assert warm[0, 9] / cold[0, 9] == pytest.approx(1.0786, rel=1e-6)
    clad = seen(cable("UTP", 50.0, 'metal = "copper-clad-aluminium"', "contact_ohm = 0", "tester"))
    assert clad[0, 9] / cold[0, 9] == pytest.approx(1 / 0.65, rel=1e-6)
