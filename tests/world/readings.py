"""What a tester sees of a cable: ohms by a network solved here, and what its conductors show to each other."""

import random
from itertools import pairwise
from math import sqrt

import numpy as np

from tests.world.tables import PAIRS, SCREEN, mates
from tests.world.truth import Node, Truth, all_contacts
from wiremap.reading.parts import Capacitance, Tester
from wiremap.reading.reading import Ohm, Reading

STEP_OHM = 0.05
# Direct capacitances of a metre of cable, pF, chosen here (a 100-ohm pair shows about 50 pF/m between its conductors).
MATE_PF, OTHER_PF, TO_SCREEN_PF, TO_GROUND_PF, STRAY_PF, SD_PF = 38.0, (3.0, 6.0), 28.0, 6.0, 0.6, 0.3
LEFT_OVER_PF = 0.5  # of asymmetry, per root of the metres (assumed)


def resistances(truth: Truth) -> dict[tuple[Node, Node], float]:
    """Return the ohms between every two contacts that are joined, by the inverse of the network's conductances."""
    found: dict[tuple[Node, Node], float] = {}
    joints = truth.joints
    groups = {frozenset(net) for net in truth.nets.values() if len(net) > 1}
    for net in groups:
        nodes, reached = {node: i for i, node in enumerate(net)}, True
        inside: list[tuple[Node, Node, float]] = []
        left = list(joints)
        while reached:
            taken = [joint for joint in left if joint[0] in nodes or joint[1] in nodes]
            reached = bool(taken)
            for a, b, _ in taken:
                nodes.setdefault(a, len(nodes))
                nodes.setdefault(b, len(nodes))
            inside += taken
            left = [joint for joint in left if joint not in taken]
        laplacian = np.zeros((len(nodes), len(nodes)))
        for a, b, ohm in inside:
            i, j, siemens = nodes[a], nodes[b], 1.0 / max(ohm, 1e-4)
            laplacian[[i, j], [i, j]] += siemens
            laplacian[[i, j], [j, i]] -= siemens
        grounded = np.zeros_like(laplacian)
        grounded[1:, 1:] = np.linalg.inv(laplacian[1:, 1:])
        for a in net:
            for b in net:
                i, j = nodes[a], nodes[b]
                found[a, b] = float(grounded[i, i] + grounded[j, j] - 2 * grounded[i, j])
    return found


def reading(truth: Truth, choose: random.Random, with_pairs: bool) -> Reading:
    """Return what the tester measures now, both plugs in it; with_pairs: it measures capacitance too."""
    nodes = truth.contacts
    true = resistances(truth)
    rows: list[list[Ohm]] = [[0.0] * len(nodes) for _ in nodes]
    for i, a in enumerate(nodes):
        for j in range(i):
            ohm = true.get((a, nodes[j]))
            value: Ohm = "open"
            if ohm is not None:
                seen = ohm * choose.gauss(1.0, 0.002) + choose.gauss(0.0, STEP_OHM / 4)
                value = max(0.0, round(seen / STEP_OHM) * STEP_OHM)
            rows[i][j] = rows[j][i] = value
    features = ("FOREIGN", "CAP") if with_pairs else ("FOREIGN",)
    return Reading(
        taken_utc=None,
        tester=Tester("own", "world", "1", "1", features, STEP_OHM),
        calibration=None,
        far="tester",
        near_contacts=all_contacts(truth.near.kind),
        far_contacts=all_contacts(truth.far.kind),
        resistance_ohm=tuple(map(tuple, rows)),
        capacitance=_capacitance(truth, choose) if with_pairs else None,
    )


def _pieces(truth: Truth) -> dict[tuple[str, float, float], set[Node]]:
    """Return the pieces of conductors, (name, from, to in metres), each with the contacts that hang on it."""
    found: dict[tuple[str, float, float], set[Node]] = {}
    for name in truth.conductors:
        cuts = [0.0, *sorted(at for one, at in truth.run.broken if one == name), truth.run.length_m]
        for start, stop in pairwise(cuts):
            found[name, start, stop] = set()
            for end, at in (("near", 0.0), ("far", truth.run.length_m)):
                contact = truth.plug(end).where(name)
                if contact is not None and at in (start, stop) and contact not in truth.plug(end).loose:
                    found[name, start, stop].add((end, contact))
    if truth.run.screened:
        middle = truth.run.length_m / 2 if truth.run.screen_broken else truth.run.length_m
        found["screen", 0.0, middle] = {("near", SCREEN[truth.near.kind])} if truth.near.clamped else set()
        rest = {("far", SCREEN[truth.far.kind])} if truth.far.clamped else set()
        if truth.run.screen_broken:
            found["screen", middle, truth.run.length_m] = rest
        else:
            found["screen", 0.0, middle] |= rest
    return found


def _per_metre(truth: Truth, one: str, other: str) -> float:
    """Return the direct capacitance of a metre between two conductors, or a conductor and the screen, pF.

    Twisted together, the two of a pair see any other pair alike but for what is left over, less the longer the cable
    is. It is the same cable in every test.
    """
    run = truth.run
    if "screen" in (one, other):
        return TO_SCREEN_PF
    if mates(run.colours, one, other):
        return MATE_PF
    apart = sorted(min(pair) for name in (one, other) for pair in PAIRS[run.colours] if name in pair)
    both = random.Random(f"{run.length_m} {run.ohm_per_m} {apart}").uniform(*OTHER_PF)
    left = random.Random(f"{run.length_m} {run.ohm_per_m} {sorted((one, other))}").gauss(0.0, LEFT_OVER_PF)
    return (both + left / sqrt(run.length_m)) * (0.3 if run.screened else 1.0)


def _capacitance(truth: Truth, choose: random.Random) -> Capacitance:
    """Return capacitances by grounded groups: one contact, and every two together, against all others on ground."""
    nodes = truth.contacts
    nets = list(dict.fromkeys(truth.nets.values()))
    net_of = {node: number for number, net in enumerate(nets) for node in net}
    between = np.zeros((len(nets), len(nets)))
    ground = np.full(len(nets), 0.5)
    pieces = [(piece, {net_of[node] for node in hung}) for piece, hung in _pieces(truth).items()]
    per_metre: dict[frozenset[str], float] = {}
    for (name, start, stop), mine in pieces:
        for net in mine:
            ground[net] += TO_GROUND_PF * (stop - start)
        for (other, begin, end), theirs in pieces:
            overlap = min(stop, end) - max(start, begin)
            if name >= other or overlap <= 0 or not mine or not theirs:
                continue
            key = frozenset((name, other))
            if key not in per_metre:
                per_metre[key] = _per_metre(truth, name, other)
            picofarad = per_metre[key] * overlap
            for i in mine:
                for j in theirs:
                    if i != j:
                        between[i, j] += picofarad
                        between[j, i] += picofarad
    for a, b in pairwise(nodes):
        if net_of[a] != net_of[b] and a[0] == b[0]:
            between[net_of[a], net_of[b]] += STRAY_PF
            between[net_of[b], net_of[a]] += STRAY_PF
    alone = between.sum(axis=1) + ground
    size = len(nodes)
    single = [float(alone[net_of[node]]) + choose.gauss(0.0, SD_PF / 2) for node in nodes]
    double: list[list[float]] = [[0.0] * size for _ in nodes]
    for i, a in enumerate(nodes):
        for j in range(i):
            p, q = net_of[a], net_of[nodes[j]]
            together = alone[p] if p == q else alone[p] + alone[q] - 2 * between[p, q]
            double[i][j] = double[j][i] = float(together) + choose.gauss(0.0, SD_PF / 2)
    return Capacitance(None, tuple(single), tuple(map(tuple, double)), 0.0, False, 4, SD_PF)
