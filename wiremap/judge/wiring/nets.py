"""Nets: what each two contacts are to each other, and which contacts are joined, directly or through others.

Contacts are indices in matrix order, near contacts first. One cable is lists and pairs, because numpy takes longer to
load than a cable to judge; a stack of cables is an array.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING, Any

from wiremap.cable.limits import Limits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Ohms = list[list[float]]
Two = tuple[int, int]  # contacts, the lower one first
LARGEST = 64
CHUNK = 2048
MEANING = {None: math.nan, "open": math.inf, "joined": 0.0}


class Cell(IntEnum):
    """What two contacts that are not open are to each other; from HIGH_RESISTANCE on they count as joined."""

    LEAKAGE = 1
    HIGH_RESISTANCE = 2
    JOINED = 3


Cells = Mapping[Two, Cell]


@dataclass(frozen=True, slots=True)
class Resistor:
    """A resistance that belongs between contacts a and b; ranges_ohm: (lowest, highest) of each value allowed."""

    a: int
    b: int
    ranges_ohm: tuple[tuple[float, float], ...]


def ohms(rows: Sequence[Sequence[float | str | None]]) -> Ohms:
    """Return a Reading's matrix as numbers, [n][n]: NaN = not measured, inf = open, 0 = joined, ohms unknown."""
    return [[MEANING[v] if v is None or isinstance(v, str) else v for v in row] for row in rows]


def cells(ohm: Ohms, partner: Sequence[int], limits: Limits) -> dict[Two, Cell]:
    """Return what each two contacts are to each other; those that are open or were not measured are left out.

    ohm: [n][n], NaN = not measured, inf = open. partner: for each contact the other one of an expected conductor,
    negative where there is none; only such two may be of high resistance and still count as joined.
    """
    found = {}
    for a, row in enumerate(ohm):
        for b in range(a + 1, len(row)):
            value = row[b]
            if value <= limits.joined_ohm:
                found[a, b] = Cell.JOINED
            elif value <= limits.high_resistance_ohm and partner[a] == b:
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


def nets(count: int, joined: Iterable[Two]) -> list[int]:
    """Return for each of so many contacts the lowest contact of its net: the transitive closure of joined.

    After Warshall, the contacts that each contact reaches being one integer with a bit for each.
    """
    reach = [1 << contact for contact in range(count)]
    for a, b in joined:
        reach[a] |= 1 << b
        reach[b] |= 1 << a
    for pivot in range(count):
        through = reach[pivot]
        reach = [bits | through if bits >> pivot & 1 else bits for bits in reach]
    return [(bits & -bits).bit_length() - 1 for bits in reach]


def nets_of_many(joined: "NDArray[np.bool_]") -> "NDArray[np.uint8]":
    """Return for each contact of each cable the lowest contact of its net, shape (k, n), as `nets` does for one.

    joined: (k, n, n), n <= 64, True = joined; one direction is enough, the diagonal does not matter. The cables are
    worked off in chunks, so memory beyond input and result is small.
    """
    import numpy as np

    stack = np.asarray(joined, bool)
    size = stack.shape[-1] if stack.ndim else 0
    if stack.ndim != 3 or stack.shape[1] != size or not 1 <= size <= LARGEST:
        raise ValueError(f"shape {stack.shape}: a stack of square matrices of 1 to {LARGEST} contacts is allowed")
    labels = np.empty(stack.shape[:2], np.uint8)
    for start in range(0, len(stack), CHUNK):
        labels[start : start + CHUNK] = _labels(stack[start : start + CHUNK])
    return labels


def _labels(joined: "NDArray[np.bool_]") -> "NDArray[np.uint8]":
    import numpy as np

    count, size, _ = joined.shape
    bits = next(width for width in (8, 16, 32, 64) if size <= width)
    word: Any = np.dtype(f"<u{bits // 8}")
    padded = np.zeros((count, size, bits), bool)
    np.logical_or(joined, joined.swapaxes(1, 2), out=padded[:, :, :size])
    reach = np.ascontiguousarray(np.packbits(padded, axis=2, bitorder="little").view(word)[:, :, 0].T)
    one = word.type(1)
    reach |= one << np.arange(size, dtype=word)[:, np.newaxis]
    for pivot in range(size):
        reach |= ((reach >> word.type(pivot)) & one) * reach[pivot]
    lowest = reach & (~reach + one)
    labels: NDArray[np.uint8] = np.bitwise_count(lowest - one).T
    return labels
