"""Terminators of a bus: how many there are and at which end, told apart from shorts, breaks and exchanged conductors.

A terminator joins the two conductors of a bus by a known resistance, low enough to look like a short and, through two
of them, like a bad conductor. Contacts that are surely metal are brought together first; what is left between those
nets is a network of resistors, and the resistances measured between its nodes determine each of them.
"""

import math
from collections.abc import Iterable, Sequence
from itertools import combinations
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from wiremap.cable.limits import Limits
from wiremap.cable.patterns import MOST_TERMINATORS, Pattern
from wiremap.errors import UsageError
from wiremap.judge.findings import Finding, Place
from wiremap.judge.wiring.cells import Cell, Cells, Ohms, Two
from wiremap.reading.joined import by_net, is_joined, nets


class Bus(Struct, frozen=True):
    """The two contacts of a bus at either end, as indices, near first, and what one terminator between them has.

    right: how many terminators there may be.
    """

    near: Two
    far: Two
    ohm: float
    tolerance: float
    right: tuple[int, ...]


class Terminators(Struct, frozen=True):
    """How many terminators a bus shows. near, far: at each end, None = not known where.

    near_ohm, far_ohm: what was measured between the bus's two contacts at each end, None = open or not measured.
    """

    count: int
    near: int | None
    far: int | None
    near_ohm: float | None
    far_ohm: float | None

    def to_builtins(self) -> dict[str, Any]:
        """Return it as it stands in JSON; null is not known, not measured or open."""
        return {
            "count": self.count,
            "near": self.near,
            "far": self.far,
            "near_ohm": self.near_ohm,
            "far_ohm": self.far_ohm,
        }


class Link(Struct, frozen=True):
    """So many terminators between two nets, each a set of contacts."""

    one: frozenset[int]
    other: frozenset[int]
    count: int


def without_terminators(
    ohm: Ohms, found: Cells, partner: Sequence[int], bus: Bus, near_count: int, limits: Limits
) -> tuple[dict[Two, Cell], tuple[Link, ...]]:
    """Return the cells of a cable without those that terminators explain, and where those terminators are.

    ohm: [n][n] in the order of the pattern, NaN = not measured, inf = open. partner: as in `cells`.
    """
    metal = [two for two in found if is_joined(ohm[two[0]][two[1]], limits.terminated_joined_ohm)]
    labels = nets(len(ohm), metal)
    members = {label: set(contacts) for label, contacts in by_net(range(len(labels)), labels).items()}
    misplaced = _misplaced(members.values(), partner)
    most = limits.terminated_network_ohm
    kept = {two: cell for two, cell in found.items() if labels[two[0]] == labels[two[1]] or ohm[two[0]][two[1]] > most}
    links: list[Link] = []
    low = [two for two in found if ohm[two[0]][two[1]] <= most]
    for group in _together(labels, low):
        direct = _direct_ohm([[_least(ohm, members[a], members[b]) for b in group] for a in group])
        for i, j in combinations(range(len(group)), 2):
            one, other = frozenset(members[group[i]]), frozenset(members[group[j]])
            value = math.nan if direct is None else direct[i][j]
            if value > most:
                continue
            bad = _bad_conductor(one, other, partner, near_count)
            count = terminators_in(value, bus.ohm, bus.tolerance)
            too_many = count > max(bus.right)
            if bad is not None and not math.isnan(value):
                kept[bad] = Cell.JOINED if is_joined(value, limits.joined_ohm) else Cell.HIGH_RESISTANCE
            elif (
                count
                and _may_be(one, other, bus, misplaced)
                and not (too_many and _rather_bad(one, other, partner, bus, near_count))
            ):
                links.append(Link(one, other, count))
            else:
                kept |= {two: found[two] for two in low if {labels[two[0]], labels[two[1]]} == {group[i], group[j]}}
    return kept, tuple(links)


def terminators_in(value: float, each_ohm: float, tolerance: float) -> int:
    """Return how many terminators of so many ohms each, side by side, a resistor is; 0 = it is none."""
    if not value > 0:
        return 0
    count = round(each_ohm / value)
    return count if abs(each_ohm / value - count) <= tolerance * count else 0


def _together(labels: Sequence[int], low: Sequence[Two]) -> list[list[int]]:
    """Return the nets that hang together through low resistances, groups of two or more."""
    joined = nets(max(labels) + 1, [(min(pair), max(pair)) for a, b in low if len(pair := {labels[a], labels[b]}) == 2])
    groups: dict[int, list[int]] = {}
    for label in sorted(set(labels)):
        groups.setdefault(joined[label], []).append(label)
    return [group for group in groups.values() if len(group) > 1]


def _least(ohm: Ohms, one: set[int], other: set[int]) -> float:
    """Return the least resistance measured between two nets, the conductors' own left out as far as can be."""
    if one == other:
        return 0.0
    measured = [ohm[a][b] for a in one for b in other if not math.isnan(ohm[a][b])]
    return min(measured, default=math.nan)


def _direct_ohm(between: Ohms) -> Ohms | None:
    """Return the resistor that sits directly between each two nodes, inf = none; None where a value is missing.

    between: resistance between each two nodes, all others floating. With J the centring matrix, -J R J / 2 is the
    pseudo-inverse of the network's conductance matrix (resistance distance, Klein and Randic 1993).
    """
    if any(not math.isfinite(value) for row in between for value in row):
        return None
    import numpy as np

    size = len(between)
    centring = np.eye(size) - 1 / size
    conductance = np.linalg.pinv(-centring @ np.array(between) @ centring / 2)
    return [
        [-1 / value if i != j and value < -1e-9 else math.inf for j, value in enumerate(row)]
        for i, row in enumerate(conductance.tolist())
    ]


def _bad_conductor(one: frozenset[int], other: frozenset[int], partner: Sequence[int], near_count: int) -> Two | None:
    """Return the expected conductor between two nets that are its two halves, neither arriving anywhere else."""
    for ours, theirs in ((one, other), (other, one)):
        if max(ours) < near_count <= min(theirs):
            return next(((near, partner[near]) for near in sorted(ours) if partner[near] in theirs), None)
    return None


def _rather_bad(one: frozenset[int], other: frozenset[int], partner: Sequence[int], bus: Bus, near_count: int) -> bool:
    """Whether a resistor between two nets is rather a bad conductor, misplaced or into a short."""
    if len(one) == len(other) == 1:
        return partner[min(one)] not in other and (min(one) < near_count) != (min(other) < near_count)
    shorted = any({*ends} <= net for ends in (bus.near, bus.far) for net in (one, other))
    return shorted and any(partner[contact] in other for contact in one)


def _may_be(one: frozenset[int], other: frozenset[int], bus: Bus, misplaced: frozenset[int]) -> bool:
    """Whether a terminator may sit between two nets: at an end of the bus, or where conductors are misplaced."""
    for a, b in (bus.near, bus.far):
        if (a in one and b in other) or (b in one and a in other):
            return True
    lone = min(len(one), len(other)) == 1
    return bool(misplaced & (one | other)) or (lone and bool(misplaced))


def _misplaced(members: Iterable[set[int]], partner: Sequence[int]) -> frozenset[int]:
    """Return the contacts that are joined to others, and not to the one that is expected."""
    return frozenset(contact for net in members if len(net) > 1 for contact in net if partner[contact] not in net)


def counted(ohm: Ohms, links: Sequence[Link], bus: Bus, near_count: int, step_ohm: float) -> Terminators:
    """Return how many terminators there are and at which end; step_ohm: what the tester resolves."""
    near: int | None = 0
    far: int | None = 0
    for link in links:
        at_near = _count_near(ohm, link, bus, near_count, step_ohm)
        near = None if near is None or at_near is None else near + at_near
        far = None if far is None or at_near is None else far + link.count - at_near
    ends = [ohm[a][b] if math.isfinite(ohm[a][b]) else None for a, b in (bus.near, bus.far)]
    return Terminators(sum(link.count for link in links), near, far, ends[0], ends[1])


def _count_near(ohm: Ohms, link: Link, bus: Bus, near_count: int, step_ohm: float) -> int | None:
    """Return how many of a link's terminators are at the near end, by which end shows less; None = not clear."""
    nets_of = (link.one, link.other)
    near = [contact for net in nets_of for contact in sorted(net)[:1] if contact < near_count]
    far = [contact for net in nets_of for contact in sorted(net)[-1:] if contact >= near_count]
    if len(near) < 2 or len(far) < 2:
        return link.count if len(near) == 2 else 0 if len(far) == 2 else None
    loop = ohm[near[0]][far[0]] + ohm[near[1]][far[1]]
    apart = ohm[far[0]][far[1]] - ohm[near[0]][near[1]]
    if not math.isfinite(apart) or not math.isfinite(loop):
        return None
    misses = []
    for here in range(link.count + 1):
        there = link.count - here
        misses.append((abs(apart - _seen(bus.ohm, there, here, loop) + _seen(bus.ohm, here, there, loop)), here))
    misses.sort()
    doubt = 3 * math.sqrt(2) * step_ohm / math.sqrt(12)
    return misses[0][1] if misses[1][0] - misses[0][0] > doubt else None


def _seen(ohm: float, here: int, there: int, loop: float) -> float:
    """Return what an end shows with so many terminators here, and so many at the other end of a loop of conductor."""
    conductance = here / ohm + (1 / (loop + ohm / there) if there else 0.0)
    return 1 / conductance if conductance else math.inf


def check_wanted(count: int | None, pattern: Pattern | None) -> None:
    """Raise UsageError for a number of terminators that no bus has, or that is asked of a pattern that is no bus."""
    if count is None:
        return
    if not 0 <= count <= MOST_TERMINATORS:
        raise UsageError(f"{count} terminators: cannot be", f"Give a whole number from 0 to {MOST_TERMINATORS}.")
    if pattern is not None and pattern.terminators is None:
        raise UsageError(
            f"{count} terminators are asked for, and {pattern.name} has none",
            "Leave out --terminators, or expect the pattern of a bus.",
        )


def rightly_placed(seen: Terminators, count: int) -> tuple[int, int] | None:
    """Return how many terminators belong at the near and at the far end where so many are right.

    Of the places that one terminator may have, that which needs the fewest moved. None where nothing can be said: it is
    not known where those sit that are there, either end would do, or three and more are wanted.
    """
    if seen.near is None or seen.far is None:
        return None
    places = {0: ((0, 0),), 1: ((1, 0), (0, 1)), 2: ((1, 1),)}.get(count, ())
    moved = sorted((abs(near - seen.near) + abs(far - seen.far), (near, far)) for near, far in places)
    return moved[0][1] if moved and (len(moved) == 1 or moved[0][0] < moved[1][0]) else None


def wrong_terminators(
    seen: Terminators, bus: Bus | None, names: Sequence[str], wanted: int | None = None
) -> list[Finding]:
    """Return that a bus has another number of terminators than it may have; end: the only one where that is so.

    wanted: how many it must have, None = as many as the pattern allows; `limit` is then the number next to that seen,
    of two as near the higher one.
    """
    if bus is None:
        return []
    right = bus.right if wanted is None else (wanted,)
    if seen.count in right:
        return []
    limit = min(right, key=lambda one: (abs(one - seen.count), -one))
    contacts = tuple(names[contact] for contact in bus.near), tuple(names[contact] for contact in bus.far)
    detail = None if wanted is None else "asked"
    found = Finding("terminators", *contacts, _only_end(seen, limit), value=float(seen.count), limit=float(limit))
    return [replace(found, unit="terminators", detail=detail)]


def _only_end(seen: Terminators, count: int) -> Place | None:
    """Return the end at which there are too few or too many, the other end being right."""
    belong = rightly_placed(seen, count)
    if belong is None or (seen.near != belong[0]) == (seen.far != belong[1]):
        return None
    return "near" if seen.near != belong[0] else "far"
