"""What the far plug is in: the tester, nothing, a plug that joins all, a passive remote, equipment."""

from collections.abc import Hashable
from itertools import pairwise

import numpy as np

from firmware_sim.cable_model.arrays import Complex, add_between, without_floating
from firmware_sim.cable_model.direct_current.networks import Network, far_plug
from firmware_sim.cable_model.laid_out.run import Run
from firmware_sim.cable_model.written.attached import Attached
from firmware_sim.cable_model.written.description import Description
from firmware_sim.cable_model.written.plugs import ADAPTERS, RJ45, SCREEN
from firmware_sim.cable_model.written.remotes import remote_ohm

JOINING_OHM = 0.02  # a contact of a joining plug (assumption)
WINDING_OHM = 0.6  # a pair's transformer winding, d.c. (assumption)
TERMINATION_OHM = 75.0  # ports that do not use 4, 5, 7, 8 tie them through 75 ohm (common practice, no source)
PAIR_OHM = 100.0  # a port's termination of a pair
LEAST_SIEMENS = 1e-15  # of what floats, so that it can be solved for
PORT_PAIRS = (("1", "2"), ("3", "6"), ("4", "5"), ("7", "8"))


def attach(network: Network, description: Description) -> None:
    """Add to the cable's network what its far plug is in."""
    attached = description.attached
    if attached.far == "joined":
        for a, b in pairwise(RJ45):
            network.add(far_plug(a), far_plug(b), JOINING_OHM)
    elif attached.far.startswith("remote-"):
        for socket, ohm in _remote(description).items():
            network.add(far_plug(socket), ("remote", "star"), ohm)
    elif attached.far == "equipment":
        for a, b in _pairs_used(attached):
            network.add(far_plug(a), far_plug(b), WINDING_OHM)
        if attached.port == "tied":
            network.add(far_plug("4"), far_plug("5"), 0.0)
            network.add(far_plug("7"), far_plug("8"), 0.0)
            network.add(far_plug("4"), far_plug("7"), 2 * TERMINATION_OHM)


def _remote(description: Description) -> dict[str, float]:
    """Return the ohms behind each RJ45 contact of the far plug; a remote is made for the plug's own contacts."""
    values = remote_ohm(description.attached.far.removeprefix("remote-"))
    return {socket: values[contact] for contact, socket in ADAPTERS[description.connectors[1]].items()}


def _pairs_used(attached: Attached) -> tuple[tuple[str, str], ...]:
    return PORT_PAIRS if attached.port == "four-pair" else PORT_PAIRS[:2]


def far_admittance(description: Description, run: Run, s: Complex) -> Complex:
    """Return what the far plug's conductors see at s, [f][n][n], conductors as in the last span, without the screen.

    The tester's far pins lead to its ground, which at these frequencies is joined to the cable's far reference
    only through the stray capacitance. Equipment is 100 ohm across each pair it uses (IEEE 802.3).
    """
    colours = [colour for colour in run.spans[-1].kind.conductors if colour != SCREEN]
    nodes: dict[Hashable, int] = {colour: k for k, colour in enumerate(colours)}
    parts: list[tuple[Hashable | None, Hashable | None, float, float]] = []  # ends (None = reference), siemens, farad

    def end_at(socket: str) -> Hashable | None:
        colour = run.far_plug.get(socket, ("empty", socket))
        return None if colour == SCREEN else colour

    attached = description.attached
    if attached.far == "tester":
        parts += [(end_at(socket), "ground", 0.0, description.pin_pf * 1e-12) for socket in RJ45]
        parts.append(("ground", None, 0.0, description.stray_pf * 1e-12))
    elif attached.far == "joined":
        parts += [(end_at(socket), "star", 1 / JOINING_OHM, 0.0) for socket in RJ45]
    elif attached.far.startswith("remote-"):
        parts += [(end_at(socket), "star", 1 / ohm, 0.0) for socket, ohm in _remote(description).items()]
    elif attached.far == "equipment":
        parts += [(end_at(a), end_at(b), 1 / PAIR_OHM, 0.0) for a, b in _pairs_used(attached)]
    for end in (end for part in parts for end in part[:2]):
        if end is not None:
            nodes.setdefault(end, len(nodes))
    conductance, capacitance = np.zeros((2, len(nodes), len(nodes)))
    for one, other, siemens, farad in parts:
        ends = [nodes[end] for end in (one, other) if end is not None]
        for matrix, value in ((conductance, siemens), (capacitance, farad)):
            add_between(matrix, ends, value)
    y = conductance + s[:, None, None] * capacitance
    return without_floating(y, range(len(colours)), range(len(colours), len(nodes)), LEAST_SIEMENS)
