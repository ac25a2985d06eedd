"""Random runs with a remote at the far end, solved as resistor networks, and how the decoder reads them."""

import random
from collections import Counter
from dataclasses import dataclass, field

import numpy as np

from wiremap.cable.limits import limits
from wiremap.cable.remotes import RemoteSet, remote_set
from wiremap.judge.wiring.remote import RemoteSeen, read_remote
from wiremap.reading.reading import Ohm

CONTACTS = (*"12345678", "S")
EXPECTED = {contact: contact for contact in CONTACTS}
Edge = tuple[str, str, float]
Ohms = dict[tuple[str, str], Ohm]


@dataclass
class Run:
    """A run: resistors between named nodes, which far contact each conductor leads to, what is truly joined."""

    letter: str
    edges: list[Edge]
    truth: dict[tuple[str, ...], tuple[str, ...]] = field(default_factory=dict)


def _mistaken(choose: random.Random) -> dict[str, str]:
    """Return near contact -> far contact: right, a few exchanged, or any order."""
    order = list(CONTACTS[:8])
    kind = choose.random()
    if 0.35 < kind < 0.75:
        for _ in range(choose.randint(1, 3)):
            a, b = choose.sample(range(8), 2)
            order[a], order[b] = order[b], order[a]
    elif kind >= 0.75:
        choose.shuffle(order)
    route = dict(zip(CONTACTS[:8], order, strict=True))
    return route | ({"S": "S"} if choose.random() < 0.5 else {})


def random_run(choose: random.Random, known: RemoteSet) -> Run:
    """Draw a run of 0 to 100 m with 1 % resistors, opens on either side of the middle, and up to three shorts."""
    letter = choose.choice("ABCD")
    built = {c: ohm * (1 + choose.uniform(-0.01, 0.01)) for c, ohm in known.remote(letter).resistors}
    route = _mistaken(choose)
    conductor = choose.uniform(0.0938, 0.14) * choose.uniform(0, 100)
    open_share = choose.choice([0, 0.1, 0.3, 0.5, 0.7])
    edges: list[Edge] = []
    for near, far in route.items():
        ohm, middle = conductor * choose.uniform(0.97, 1.03), choose.uniform(0.1, 0.9)
        cut = choose.choice("ab") if choose.random() < open_share else ""
        if cut != "a":
            edges.append((f"n{near}", f"m{near}", max(ohm * middle, 1e-3)))
        if cut != "b":
            edges.append((f"m{near}", f"f{near}", max(ohm * (1 - middle), 1e-3)))
        edges.append((f"f{near}", "star", built[far]))
    for _ in range(choose.choice([0, 0, 1, 1, 2, 3])):
        a, b = choose.sample(list(route), 2)
        where = choose.choice("nmf")
        edges.append((where + a, where + b, choose.uniform(0.001, 2.0)))
    run = Run(letter, edges)
    groups = _together([edge for edge in edges if "star" not in edge[:2]])
    nets: dict[int, tuple[list[str], list[str]]] = {}
    for number, contact in enumerate(CONTACTS):
        nets.setdefault(groups.get(f"n{contact}", -1 - number), ([], []))[0].append(contact)
    for near, far in route.items():
        net = groups.get(f"f{near}")
        if net in nets:
            nets[net][1].append(far)
    run.truth = {tuple(near): tuple(sorted(far)) for near, far in nets.values()}
    return run


def _together(edges: list[Edge]) -> dict[str, int]:
    """Return for each node a number that it shares with every node it is joined to."""
    group: dict[str, int] = {}
    for a, b, _ in edges:
        ours, theirs = group.setdefault(a, len(group)), group.setdefault(b, len(group))
        if ours != theirs:
            group = {node: ours if number == theirs else number for node, number in group.items()}
    return group


def near_ohms(run: Run, known: RemoteSet, choose: random.Random) -> Ohms:
    """Return what a coarse tester reads between near contacts: nodal analysis, noise, and its steps."""
    nodes = sorted({node for a, b, _ in run.edges for node in (a, b)} | {f"n{contact}" for contact in CONTACTS})
    place = {node: number for number, node in enumerate(nodes)}
    matrix = np.eye(len(nodes)) * 1e-9
    for a, b, ohm in run.edges:
        i, j = place[a], place[b]
        matrix[i, i] += 1 / ohm
        matrix[j, j] += 1 / ohm
        matrix[i, j] -= 1 / ohm
        matrix[j, i] -= 1 / ohm
    inverse = np.linalg.inv(matrix)
    group = _together(run.edges)
    found: Ohms = {}
    for one, a in enumerate(CONTACTS):
        for b in CONTACTS[one + 1 :]:
            i, j = place[f"n{a}"], place[f"n{b}"]
            value: Ohm = "open"
            if group.get(f"n{a}", -1) == group.get(f"n{b}", -2):
                ohm = float(inverse[i, i] + inverse[j, j] - 2 * inverse[i, j])
                step = known.step_ohm(ohm) if ohm > 150 else 0.2
                value = max(0.0, round((ohm + choose.gauss(0, step / 4)) / step) * step)
            found[a, b] = found[b, a] = value
    return found


def is_wrong(seen: RemoteSeen, run: Run) -> bool:
    """Whether a mapping that was called exact is not the true one."""
    got = {net.near: tuple(sorted(net.far[0])) for net in seen.nets} | dict.fromkeys(seen.silent, ())
    return seen.letter != run.letter or {tuple(sorted(a)): b for a, b in got.items()} != run.truth


@dataclass
class Decoded:
    """How many runs were read how: (conductors through, certainty) -> count; and how many exact ones were wrong."""

    counts: Counter[tuple[int, str]]
    wrong: int

    def shares(self) -> dict[str, float]:
        """Return the share of each certainty."""
        total = sum(self.counts.values())
        return {
            word: sum(count for (_, certainty), count in self.counts.items() if certainty == word) / total
            for word in ("exact", "likely", "undecided")
        }


def decode_many(seed: int, count: int) -> Decoded:
    """Draw and read runs."""
    choose, known, rules = random.Random(seed), remote_set(), limits()
    result = Decoded(Counter(), 0)
    for _ in range(count):
        run = random_run(choose, known)
        seen = read_remote(CONTACTS, CONTACTS, near_ohms(run, known, choose), rules, EXPECTED)
        through = sum(bool(far) for far in run.truth.values())
        result.counts[through, seen.certainty] += 1
        result.wrong += seen.certainty == "exact" and is_wrong(seen, run)
    return result
