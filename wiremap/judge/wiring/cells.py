"""Cells: what each two contacts are to each other.

Contacts are indices in matrix order, near contacts first. A cable is lists and pairs, because numpy takes longer to
load than a cable to judge.
"""

from collections.abc import Mapping, Sequence
from enum import IntEnum
from math import inf

from msgspec import Struct

from wiremap.cable.limits import Limits
from wiremap.reading.joined import is_joined

Ohms = list[list[float]]
Two = tuple[int, int]  # contacts, the lower one first


class Cell(IntEnum):
    """What two contacts that are not open are to each other; from HIGH_RESISTANCE on they count as joined."""

    LEAKAGE = 1
    HIGH_RESISTANCE = 2
    JOINED = 3


Cells = Mapping[Two, Cell]


class Resistor(Struct, frozen=True):
    """A resistance that belongs between contacts a and b; ranges_ohm: (lowest, highest) of each value allowed."""

    a: int
    b: int
    ranges_ohm: tuple[tuple[float, float], ...]


def cells(ohm: Ohms, partner: Sequence[int], limits: Limits) -> dict[Two, Cell]:
    """Return what each two contacts are to each other; those that are open or were not measured are left out.

    ohm: [n][n], NaN = not measured, inf = open. partner: for each contact the other one of an expected conductor,
    negative where there is none; only such two may be of high resistance and still count as joined.
    """
    found = {}
    for a, row in enumerate(ohm):
        for b in range(a + 1, len(row)):
            value = row[b]
            if not value < inf:
                continue  # open, or not measured
            if is_joined(value, limits.joined_ohm):
                found[a, b] = Cell.JOINED
            elif partner[a] == b and is_joined(value, limits.high_resistance_ohm):
                found[a, b] = Cell.HIGH_RESISTANCE
            elif value < limits.leakage_ohm:
                found[a, b] = Cell.LEAKAGE
    return found


def without_resistors(ohm: Ohms, found: Cells, resistors: Sequence[Resistor]) -> dict[Two, Cell]:
    """Return the cells of a cable without those that expected resistors explain.

    The cells are taken from the lowest ohms up: each joins two groups of contacts, or is the path through a
    resistor that belongs between the two, the resistance within the groups added. What comes later between groups
    so linked is the same path seen through more conductor.
    """
    group = list(range(len(ohm)))
    within = [0.0] * len(ohm)
    links: set[frozenset[int]] = set()
    left = dict(found)
    for i, j in sorted(found, key=lambda two: ohm[two[0]][two[1]]):
        a, b = group[i], group[j]
        if a == b:
            continue
        value = ohm[i][j]
        link = frozenset((a, b))
        slack = within[a] + within[b]
        if link not in links and any(
            frozenset((group[r.a], group[r.b])) == link
            and any(low <= value <= high + slack for low, high in r.ranges_ohm)
            for r in resistors
        ):
            links.add(link)
        if link in links:
            del left[i, j]
        elif found[i, j] >= Cell.HIGH_RESISTANCE:
            group = [a if label == b else label for label in group]
            within[a] = max(slack, value)
            links = {frozenset(a if label == b else label for label in pair) for pair in links}
    return left


def joints(found: Cells) -> list[Two]:
    """Return the contacts that count as joined, two by two."""
    return [two for two, cell in found.items() if cell >= Cell.HIGH_RESISTANCE]
