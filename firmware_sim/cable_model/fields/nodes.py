"""The cable as nodes between the tester's contacts: conductances, and capacitances of what moves as one.

For a board that drives and reads every contact at once, so that no two-terminal value says all. Of a state the steady
voltages follow from conductances between contacts alone; how they settle follows from capacitances between lumps, the
groups of contacts joined through so little that they move together.
"""

from collections.abc import Collection
from dataclasses import replace
from typing import Any

import numpy as np

from firmware_sim.cable_model.arrays import Matrix, without_floating
from firmware_sim.cable_model.direct_current.far_end import attach
from firmware_sim.cable_model.direct_current.networks import (
    Network,
    cable_network,
    conductances,
    tester_contacts,
    without,
)
from firmware_sim.cable_model.fields.capacitance import maxwell
from firmware_sim.cable_model.laid_out.run import CONTACT_COUNT
from firmware_sim.cable_model.laid_out.states import State

LUMP_OHM = 200.0  # against 3.4 kohm behind every contact; what lies in the way may be a thousandth of a volt
PICO = 1e12
ATTO_PER_PICO = 1e6


def node_tables(state: State | None) -> dict[str, Any]:
    """Return the nodes of an electrical state as integers; None = empty sockets.

    ps, low_ps: upper triangles of picosiemens between contacts, under a voltage that breaks films and at no more than
    20 mV. lump: the lump of each contact, counted from 0. af: attofarads, square over the lumps and symmetric, a
    capacitance matrix after Maxwell whose rows sum to what leads to the tester's ground; the board's own is not in it.
    """
    bouncing = state.bouncing if state else frozenset()
    siemens, low = (without(_siemens(state, low_level), bouncing) for low_level in (False, True))
    lumps, pf = _lumps(state, bouncing)
    return {
        "ps": _whole(siemens * PICO),
        "low_ps": _whole(low * PICO),
        "lump": lumps,
        "af": [[round(value) for value in row] for row in (pf * ATTO_PER_PICO).tolist()],
    }


def _whole(values: Matrix) -> list[int]:
    upper = values[np.triu_indices(CONTACT_COUNT, 1)]
    return [round(value) for value in upper.tolist()]


def _network(state: State, low_level: bool) -> Network:
    network = cable_network(state.run(), low_level)
    attach(network, state.cable)
    return network


def _siemens(state: State | None, low_level: bool) -> Matrix:
    if state is None:
        return np.zeros((CONTACT_COUNT, CONTACT_COUNT))
    return conductances(_network(state, low_level), tester_contacts())


def _lumps(state: State | None, apart: Collection[int]) -> tuple[list[int], Matrix]:
    """Return each contact's lump and the matrix of the lumps, pF; apart: contacts that touch nothing."""
    if state is None:
        return list(range(CONTACT_COUNT)), np.zeros((CONTACT_COUNT, CONTACT_COUNT))
    groups = _network(state, low_level=False).joined(LUMP_OHM)
    bare = replace(state.cable, pin_pf=0.0)
    places, matrix = maxwell(bare, state.run(), groups)
    held = places[-1]
    touching = list(dict.fromkeys(place for contact, place in enumerate(places[:-1]) if contact not in apart))
    floating = [node for node in range(len(matrix)) if node != held and node not in touching]
    reduced = without_floating(matrix, touching, floating)
    lumps, size = [], len(touching)
    for contact, place in enumerate(places[:-1]):
        if contact in apart:
            lumps.append(size)
            size += 1
        else:
            lumps.append(touching.index(place))
    pf = np.zeros((size, size))
    pf[: len(touching), : len(touching)] = reduced
    return lumps, (pf + pf.T) / 2
