"""Checks that run with a small count here and at full count in the long run; each returns what it saw, in one line."""

from typing import cast

import networkx
import numpy as np

from firmware_sim.cable_model.direct_current.far_end import far_admittance
from firmware_sim.cable_model.direct_current.networks import Network, effective_resistance
from firmware_sim.cable_model.fields.echo import FULL, Port, first_echo
from firmware_sim.cable_model.fields.lines import ModesAt, mirrored, y_in
from firmware_sim.cable_model.laid_out.run import lay_out
from firmware_sim.cable_model.laid_out.states import State
from firmware_sim.cable_model.tables import terminal_resistance
from firmware_sim.cable_model.written.kinds import kinds
from tests.firmware_sim.cable_model import nodal
from tests.firmware_sim.cable_model.cross_section import even_turns, metre
from tests.firmware_sim.cable_model.random_cables import cable, random_cable
from tests.firmware_sim.parsed import parse_description

PS = 1e-12


def planted_networks(seed: int, count: int) -> str:
    """Cables with random orders, splices and faults: every resistance as a separate nodal analysis says."""
    worst, finite = 0.0, 0
    for number in range(seed, seed + count):
        description = parse_description(random_cable(number))
        state = State(description, frozenset(range(len(description.faults))))
        for low_level in (False, True):
            ours = terminal_resistance(state, low_level)
            theirs = nodal.resistances(description, low_level)
            assert (np.isfinite(ours) == np.isfinite(theirs)).all(), f"open and joined differ, cable {number}"
            known = np.isfinite(theirs)
            # Milliohm is what the tables keep; a part in a billion of what lies in series is lost in solving.
            error = np.abs(ours[known] - theirs[known]) / (1e-4 + 1e-9 * theirs[known])
            worst = max(worst, float(error.max()))
            finite += int(known.sum())
    assert worst <= 1.0, f"worst error {worst:.3g} of the bound"
    return f"{count} cables, {finite} resistances, worst {worst:.2g} of 0.1 mohm + 1e-9"


def networks_as_networkx(seed: int, count: int) -> str:
    """Random connected resistor networks: as networkx.resistance_distance says, to a part in a million."""
    rng = np.random.default_rng(seed)
    worst = 0.0
    for _ in range(count):
        size = int(rng.integers(3, 14))
        graph = networkx.gnp_random_graph(size, 0.35, seed=int(rng.integers(2**31)))
        for a in range(size - 1):
            graph.add_edge(a, a + 1)
        network = Network()
        for a, b in graph.edges:
            ohm = float(10 ** rng.uniform(-1, 4))
            graph.edges[a, b]["ohm"] = ohm
            network.add(a, b, ohm)
        ours = effective_resistance(network, list(range(size)))
        table = cast(dict[int, dict[int, float]], networkx.resistance_distance(graph, weight="ohm", invert_weight=True))
        theirs = np.array([[table[a][b] for b in range(size)] for a in range(size)])
        worst = max(worst, float(np.abs(ours / np.where(theirs, theirs, 1) - (theirs > 0)).max()))
    assert worst < 1e-6, f"worst relative difference {worst:.3g}"
    return f"{count} networks, worst relative difference {worst:.2g}"


def reciprocal_and_passive(seed: int, count: int) -> str:
    """Random cables at random frequencies: what the near plug shows is symmetric and gives no power away."""
    rng = np.random.default_rng(seed)
    asymmetry, power = 0.0, 0.0
    for number in range(seed, seed + count):
        description = parse_description(random_cable(number, far=("tester", "open", "joined", "remote-A", "equipment")))
        run = lay_out(description)
        omega = 2 * np.pi * 10 ** rng.uniform(4, 8.5, 6)
        s = 1.0 + 1j * omega
        y = y_in(run, ModesAt(s, run.temperature_c), far_admittance(description, run, s))
        if not y.size:
            continue
        scale = np.abs(y).max(axis=(1, 2))
        asymmetry = max(asymmetry, float((np.abs(y - y.swapaxes(1, 2)).max(axis=(1, 2)) / scale).max()))
        real = np.linalg.eigvalsh((y + y.conj().swapaxes(1, 2)) / 2)
        power = min(power, float((real.min(axis=1) / scale).min()))
    assert asymmetry < 1e-8, f"asymmetry {asymmetry:.3g}"
    assert power > -1e-8, f"power given away {power:.3g}"
    return f"{count} cables, asymmetry {asymmetry:.1e}, least power {power:.1e} of the largest admittance"


def coarse_grid_agrees(seed: int, count: int) -> str:
    """Sound cables of 0.5 to 100 m: echoes on the grid that fits the length as on the full one."""
    rng = np.random.default_rng(seed)
    worst = 0.0
    for _ in range(count):
        length_m = float(rng.uniform(0.5, 100.0))
        head = f"seed = {rng.integers(10**6)}\ndelay_spread = 0.02\ncapacitance_spread = 0.02"
        description = parse_description(cable(str(rng.choice(["UTP", "F/UTP"])), round(length_m, 3), head=head))
        run = lay_out(description)
        a, b = rng.choice(8, 2, replace=False).tolist()
        fine = first_echo(Port(description, run, FULL).step(a, b))
        coarse = first_echo(Port(description, run).step(a, b))
        assert fine is not None
        assert coarse is not None
        assert fine.polarity == coarse.polarity == 1
        worst = max(worst, abs(fine.arrival_s - coarse.arrival_s))
    assert worst < 1 * PS, f"arrivals differ by {worst / PS:.3g} ps"
    return f"{count} cables, arrivals differ by at most {worst / PS:.2g} ps"


def both_ends_alike(seed: int, count: int) -> str:
    """Random cables with both plugs in the tester: turned round twice, a cable shows what it showed."""
    worst = 0.0
    for number in range(seed, seed + count):
        description = parse_description(random_cable(number))
        run = lay_out(description)
        s = 1e6 + 2j * np.pi * np.array([1e6, 2e7])
        twice = mirrored(mirrored(run))
        once, again = (
            y_in(way, ModesAt(s, run.temperature_c), far_admittance(description, way, s)) for way in (run, twice)
        )
        if once.size:
            worst = max(worst, float(np.abs(once - again).max() / np.abs(once).max()))
    assert worst < 1e-9, f"worst {worst:.3g}"
    return f"{count} cables, worst difference {worst:.1e}"


def matrices_from_cross_section(seed: int, count: int) -> str:
    """The shipped matrices against the fields of their cross-sections, at `count` twist angles, 64 or more."""
    del seed
    worst: dict[str, float] = {}
    for name, kind in kinds().items():
        capacitance, inductance = metre(kind.geometry, even_turns(max(count, 64), len(kind.pairs)))
        for key, ours, shipped in (
            ("C", capacitance, np.array(kind.c_pf_per_m)),
            ("L", inductance, np.array(kind.l_nh_per_m)),
        ):
            # Of the largest entry: what lies between far pairs is small and is trusted to 25 % only.
            worst[f"{name} {key}"] = float(np.abs(ours - shipped).max() / np.abs(shipped).max())
    assert max(worst.values()) < 0.012, str(worst)
    return ", ".join(f"{name} {100 * value:.2f} %" for name, value in worst.items())
