"""What the tester's contacts show at low frequency: capacitance between two of them, and of groups.

The run is a network of capacitors between conductors, each an even potential. Conductors joined through at most
JOINED_OHM are one; larger resistors are left out (the tables give them apart, as leaks).
"""

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from firmware_sim.cable_model.arrays import Matrix, add_between, without_floating
from firmware_sim.cable_model.direct_current.far_end import attach
from firmware_sim.cable_model.direct_current.networks import (
    JOINED_OHM,
    Groups,
    Node,
    cable_network,
    contact,
    tester_contacts,
    wire,
)
from firmware_sim.cable_model.fields.matrices import capacitance_f_per_m
from firmware_sim.cable_model.laid_out.run import CONTACT_COUNT, Run, Span
from firmware_sim.cable_model.written.description import Description
from firmware_sim.cable_model.written.plugs import RJ45, SCREEN

PLUG_ADJACENT_PF = 1.0  # between neighbouring contacts of a plug in its socket (assumption)
PLUG_NEXT_PF = 0.3  # between every second ones (assumption)
LEAST_PF = 1e-6  # keeps what hangs on nothing from being singular
GROUND: Node = "ground"  # the tester's
SURROUNDINGS: Node = "surroundings"
SCREEN_CONTACTS = (RJ45.index("S"), len(RJ45) + RJ45.index("S"))


@dataclass(frozen=True)
class Terminals:
    """Capacitances between the tester's contacts, pF, [18] and [18][18].

    pair: i driven, j low, all others floating; NaN on the diagonal and where the two are joined.
    pair_tied: the same with both screen contacts low. single: i driven, all others low but those joined to i.
    double: i and j driven, all others low but those joined to them; symmetric, the diagonal is single.
    """

    pair: Matrix
    pair_tied: Matrix
    single: Matrix
    double: Matrix


def terminal_capacitance(description: Description, run: Run, plugs: bool = True) -> Terminals:
    """Return the capacitances of a description laid out as `run`; plugs: with the plugs' own."""
    network = cable_network(run)
    attach(network, description)
    places, matrix = maxwell(description, run, network.joined(JOINED_OHM), plugs)
    return terminals(matrix, places[:-1], places[-1])


def maxwell(description: Description, run: Run, groups: Groups, plugs: bool = True) -> tuple[list[int], Matrix]:
    """Return the node of each contact and, last, of the tester's ground, and the network of capacitors, [m][m], pF.

    groups: the nodes that are one conductor each. Rows of the matrix sum to nearly zero.
    """
    capacitors = _cable(run) + _tester(description, run)
    if plugs:
        capacitors += _plugs(run.near) + _plugs(run.far)
    order: dict[Node, int] = {}
    for node in [contact(index) for index in range(CONTACT_COUNT)] + [GROUND]:
        order.setdefault(groups.find(node), len(order))
    for a, b, _ in capacitors:
        for node in (a, b):
            order.setdefault(groups.find(node), len(order))
    matrix = np.zeros((len(order), len(order)))
    for a, b, farad in capacitors:
        add_between(matrix, [order[groups.find(a)], order[groups.find(b)]], farad)
    places = [order[groups.find(node)] for node in [*tester_contacts(), GROUND]]
    return places, matrix * 1e12 + LEAST_PF * np.eye(len(matrix))


def _cable(run: Run) -> list[tuple[Node, Node, float]]:
    """Return the capacitors of the spans; a conductor's node is that on the right of the joint before it."""
    capacitors: list[tuple[Node, Node, float]] = []
    for place, span in enumerate(run.spans):
        farad = capacitance_f_per_m(span) * span.length_m
        names = [colour for colour in span.kind.conductors if colour != SCREEN]
        reference = _reference(place, span)
        own = farad.sum(axis=1)
        for i, colour in enumerate(names):
            capacitors.append((wire(place, "right", colour), reference, own[i]))
            for j in range(i):
                capacitors.append((wire(place, "right", colour), wire(place, "right", names[j]), -farad[i, j]))
    for place, joint in enumerate(run.joints):
        for left, right, pf in joint.capacitors:
            capacitors.append((wire(place, "left", left), wire(place, "right", right), pf * 1e-12))
    return capacitors


def _tester(description: Description, run: Run) -> list[tuple[Node, Node, float]]:
    """Return the tester's own: every contact to its ground, and its ground to each span's reference."""
    pin, stray = description.pin_pf * 1e-12, description.stray_pf * 1e-12
    capacitors: list[tuple[Node, Node, float]] = [(contact(index), GROUND, pin) for index in range(CONTACT_COUNT)]
    length_m = sum(span.length_m for span in run.spans)
    for place, span in enumerate(run.spans):
        capacitors.append((GROUND, _reference(place, span), stray * span.length_m / length_m))
    return capacitors


def _reference(place: int, span: Span) -> Node:
    return wire(place, "right", SCREEN) if span.kind.screened else SURROUNDINGS


def _plugs(plug: dict[int, str]) -> list[tuple[Node, Node, float]]:
    capacitors: list[tuple[Node, Node, float]] = []
    for i, j in combinations(sorted(index for index in plug if index not in SCREEN_CONTACTS), 2):
        pf = {1: PLUG_ADJACENT_PF, 2: PLUG_NEXT_PF}.get(j - i)
        if pf is not None:
            capacitors.append((contact(i), contact(j), pf * 1e-12))
    return capacitors


def empty_terminals(pin_pf: float) -> Terminals:
    """Return what empty sockets show."""
    matrix = np.zeros((CONTACT_COUNT + 1, CONTACT_COUNT + 1))
    matrix[-1, :-1] = matrix[:-1, -1] = -pin_pf
    np.fill_diagonal(matrix, -matrix.sum(axis=1))
    return terminals(matrix, list(range(CONTACT_COUNT)), CONTACT_COUNT)


def terminals(matrix: Matrix, places: list[int], ground: int) -> Terminals:
    """Reduce a network of capacitors to its contacts.

    matrix: [m][m] over all nodes, rows summing to zero, pF. places: node of each contact; several may share one.
    ground: node of the tester's ground, to which a low contact is joined.
    """
    n = len(places)
    at = np.array(places)
    pair = _pairs(matrix, at, ground, ())
    tied = _pairs(matrix, at, ground, tuple({places[index] for index in SCREEN_CONTACTS if index < n}))
    double = np.full((n, n), np.nan)
    known: dict[frozenset[int], float] = {}
    for i in range(n):
        for j in range(i + 1):
            driven = frozenset((places[i], places[j]))
            if driven not in known:
                known[driven] = _group(matrix, driven, (set(places) | {ground}) - driven)
            double[i, j] = double[j, i] = known[driven]
    return Terminals(pair, tied, np.diagonal(double).copy(), double)


def _pairs(matrix: Matrix, at: npt.NDArray[np.int_], ground: int, tied: tuple[int, ...]) -> Matrix:
    result = np.full((len(at), len(at)), np.nan)
    for low in set(at.tolist()):
        held = {low, ground, *tied}
        free = [node for node in range(len(matrix)) if node not in held]
        own = np.full(len(matrix), np.nan)
        own[free] = 1 / np.diagonal(np.linalg.inv(matrix[np.ix_(free, free)]))
        columns = at == low
        result[:, columns] = own[at][:, None]
    # A tied contact that is itself driven is let go of.
    for node in tied:
        if node == ground:
            continue
        rest = tuple(other for other in tied if other != node)
        for low in set(at.tolist()) - {node}:
            value = _group(matrix, frozenset((node,)), {low, ground, *rest} - {node})
            result[np.ix_(at == node, at == low)] = value
    return result


def _group(matrix: Matrix, driven: frozenset[int], low: set[int]) -> float:
    """Return the capacitance of nodes driven together against nodes held low, the rest floating."""
    free = [node for node in range(len(matrix)) if node not in low and node not in driven]
    return float(without_floating(matrix, sorted(driven), free).sum())
