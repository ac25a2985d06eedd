"""Direct current: the run, what the far plug is in, and nothing else, as a network of resistors.

The network is built from the description and solved by nodal analysis; no pattern is ever looked up.
"""

import math
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from firmware_sim.cable_model.arrays import Matrix
from firmware_sim.cable_model.direct_current.copper import ohm_per_m
from firmware_sim.cable_model.laid_out.run import CONTACT_COUNT, Run, Span
from firmware_sim.cable_model.written.plugs import SCREEN

Node = Hashable
FIRM_SIEMENS = 1000.0  # between contacts that are one
JOINED_OHM = 10_000.0  # what a capacitance or a voltage reaches through; larger ones are leaks


@dataclass
class Network:
    """Resistors between nodes; 0 ohm joins two nodes, inf is nothing."""

    resistors: list[tuple[Node, Node, float]] = field(default_factory=list)

    def add(self, a: Node, b: Node, ohm: float) -> None:
        """Put a resistor between two nodes."""
        if ohm < math.inf:
            self.resistors.append((a, b, ohm))

    def joined(self, up_to_ohm: float) -> "Groups":
        """Return which nodes are joined through resistors of at most so many ohms each."""
        groups = Groups()
        for a, b, ohm in self.resistors:
            if ohm <= up_to_ohm:
                groups.join(a, b)
        return groups


class Groups:
    """Nodes gathered into groups (union-find)."""

    def __init__(self) -> None:
        self._parent: dict[Node, Node] = {}

    def find(self, node: Node) -> Node:
        """Return the node that stands for the group of `node`."""
        root = node
        while (parent := self._parent.get(root, root)) != root:
            root = parent
        while node != root:
            self._parent[node], node = root, self._parent.get(node, node)
        return root

    def join(self, a: Node, b: Node) -> None:
        """Make one group of two."""
        self._parent[self.find(a)] = self.find(b)


def contact(index: int) -> Node:
    """Return the node of a tester contact."""
    return ("contact", index)


def far_plug(socket: str) -> Node:
    """Return the node of the far plug's contact that reaches this RJ45 contact, whatever the plug is in."""
    return ("plug", socket)


def wire(joint: int, side: str, colour: str) -> Node:
    """Return the node of a conductor at a joint, on its "left" or "right" side."""
    return (joint, side, colour)


def span_ohm(span: Span, colour: str, temperature_c: float) -> float:
    """Return the resistance of one conductor of a span, ohms; wire is longer than sheath by the twist."""
    if colour == SCREEN:
        return span.kind.screen_ohm_per_m * span.length_m
    helix = span.kind.helix[span.kind.conductors.index(colour)]
    return ohm_per_m(span.awg, span.metal, temperature_c) * helix * span.length_m


def cable_network(run: Run, low_level: bool = False) -> Network:
    """Return the resistors of the cable alone, between the contacts of its plugs; low_level: at no more than 20 mV."""
    network = Network()
    for place, span in enumerate(run.spans):
        for colour in span.kind.conductors:
            ohm = span_ohm(span, colour, run.temperature_c)
            network.add(wire(place, "right", colour), wire(place + 1, "left", colour), ohm)
    for place, joint in enumerate(run.joints):
        for colour, (target, ohm, low_ohm) in joint.through.items():
            network.add(wire(place, "left", colour), wire(place, "right", target), low_ohm if low_level else ohm)
        for bridge in joint.bridges:
            side = "right" if bridge.on_right else "left"
            network.add(wire(place, side, bridge.a), wire(place, side, bridge.b), bridge.ohm)
    for index, colour in run.near.items():
        network.add(contact(index), wire(0, "left", colour), 0.0)
    last = len(run.spans)
    for socket, colour in run.far_plug.items():
        network.add(far_plug(socket), wire(last, "right", colour), 0.0)
    for index, colour in run.far.items():
        network.add(contact(index), wire(last, "right", colour), 0.0)
    return network


def effective_resistance(network: Network, nodes: Sequence[Node]) -> Matrix:
    """Return the two-terminal resistance between every two of `nodes`, all others floating.

    Square, symmetric, ohms, 0 on the diagonal and between joined nodes, inf where nothing leads.
    """
    merged, nets = network.joined(0.0), network.joined(math.inf)
    result = np.full((len(nodes), len(nodes)), math.inf)
    np.fill_diagonal(result, 0.0)
    members: dict[Node, list[int]] = {}
    for index, node in enumerate(nodes):
        members.setdefault(nets.find(node), []).append(index)
    parts: dict[Node, list[tuple[Node, Node, float]]] = {}
    for a, b, ohm in network.resistors:
        if merged.find(a) != merged.find(b):
            parts.setdefault(nets.find(a), []).append((merged.find(a), merged.find(b), ohm))
    for net, inside in members.items():
        ends = [merged.find(nodes[index]) for index in inside]
        result[np.ix_(inside, inside)] = _solve(parts.get(net, []), ends)
    return result


def conductances(network: Network, nodes: Sequence[Node]) -> Matrix:
    """Return what joins every two of `nodes` once all others are taken out, siemens, [n][n], 0 on the diagonal.

    Nodes that are one are joined through FIRM_SIEMENS. Taking nodes out only adds and divides: nothing is lost.
    """
    merged, nets = network.joined(0.0), network.joined(math.inf)
    parts: dict[Node, list[tuple[Node, Node, float]]] = {}
    for a, b, ohm in network.resistors:
        if merged.find(a) != merged.find(b):
            parts.setdefault(nets.find(a), []).append((merged.find(a), merged.find(b), ohm))
    first: dict[Node, int] = {}
    members: dict[Node, list[int]] = {}
    result = np.zeros((len(nodes), len(nodes)))
    for index, node in enumerate(nodes):
        if (one := first.setdefault(merged.find(node), index)) == index:
            members.setdefault(nets.find(node), []).append(index)
        else:
            result[one, index] = result[index, one] = FIRM_SIEMENS
    for net, inside in members.items():
        result[np.ix_(inside, inside)] += _mesh(parts.get(net, []), [merged.find(nodes[index]) for index in inside])
    np.fill_diagonal(result, 0.0)
    return result


def without(siemens: Matrix, gone: Iterable[int]) -> Matrix:
    """Return conductances between nodes as they are while some of the nodes touch nothing, [n][n]."""
    result = siemens.copy()
    for node in gone:
        star = result[node].copy()
        result[node, :] = result[:, node] = 0.0
        if (total := star.sum()) > 0:
            result += np.outer(star, star) / total
        np.fill_diagonal(result, 0.0)
    return result


def _mesh(resistors: Iterable[tuple[Node, Node, float]], ends: list[Node]) -> Matrix:
    order: dict[Node, int] = {}
    for node in [*ends, *(node for a, b, _ in resistors for node in (a, b))]:
        order.setdefault(node, len(order))
    siemens = np.zeros((len(order), len(order)))
    for a, b, ohm in resistors:
        i, j = order[a], order[b]
        siemens[i, j] += 1 / ohm
        siemens[j, i] += 1 / ohm
    mesh: Matrix = _without(siemens[None], len(set(ends)))[0]
    return mesh


def _solve(resistors: Iterable[tuple[Node, Node, float]], ends: list[Node]) -> Matrix:
    """Solve one connected network by taking nodes out one at a time until two are left, for every two ends.

    Taking a node out (star to mesh) only adds and divides, so milliohms beside megohms lose nothing.
    """
    order: dict[Node, int] = {}
    for node in ends:
        order.setdefault(node, len(order))
    kept = len(order)
    mesh = _mesh(resistors, ends)
    between = np.zeros((kept, kept))
    first, second = np.triu_indices(kept, 1)
    if len(first):
        rest = np.array([[k for k in range(kept) if k not in pair] for pair in zip(first, second, strict=True)], int)
        turned = np.concatenate([first[:, None], second[:, None], rest], axis=1)
        meshes = _without(mesh[turned[:, :, None], turned[:, None, :]], 2)
        between[first, second] = between[second, first] = 1 / meshes[:, 0, 1]
    places = [order[node] for node in ends]
    return between[np.ix_(places, places)]


def _without(siemens: Matrix, kept: int) -> Matrix:
    """Take out all nodes from number `kept` on, of a stack of networks [k][n][n]; entries between nodes count."""
    for node in range(siemens.shape[-1] - 1, kept - 1, -1):
        star = siemens[:, node, :node]
        siemens = siemens[:, :node, :node] + star[:, :, None] * (star / star.sum(axis=1)[:, None])[:, None, :]
    return siemens


def tester_contacts() -> list[Node]:
    """Return the tester's contacts in matrix order."""
    return [contact(index) for index in range(CONTACT_COUNT)]
