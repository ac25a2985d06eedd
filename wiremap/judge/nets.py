"""Nets: what each two contacts are to each other, and which contacts are joined, directly or through others.

Contacts are indices in matrix order, near contacts first. Everything takes one cable or a stack of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wiremap.cable.limits import Limits

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
LARGEST = 64
CHUNK = 2048
MEANING = {None: np.nan, "open": np.inf, "joined": 0.0}


class Cell(IntEnum):
    """What two contacts are to each other; from HIGH_RESISTANCE on they count as joined."""

    NOT_MEASURED = 0
    OPEN = 1
    LEAKAGE = 2
    HIGH_RESISTANCE = 3
    JOINED = 4


@dataclass(frozen=True, slots=True)
class Resistor:
    """A resistance that belongs between contacts a and b; ranges_ohm: (lowest, highest) of each value allowed."""

    a: int
    b: int
    ranges_ohm: tuple[tuple[float, float], ...]


def ohms(rows: Sequence[Sequence[float | str | None]]) -> Floats:
    """Return a Reading's matrix as numbers, shape (n, n): NaN = not measured, inf = open, 0 = joined, ohms unknown."""
    return np.array([[MEANING[v] if v is None or isinstance(v, str) else v for v in row] for row in rows], np.float64)


def cells(ohm: Floats, expected: Bools, limits: Limits) -> NDArray[np.int8]:
    """Return what each two contacts are to each other (values of Cell), same shape as `ohm`.

    ohm: (..., n, n), NaN = not measured, inf = open. expected: (n, n), True between the two contacts of an
    expected conductor; only those may be of high resistance and still count as joined.
    """
    found = np.full(ohm.shape, Cell.OPEN, np.int8)
    found[ohm < limits.leakage_ohm] = Cell.LEAKAGE
    found[(ohm <= limits.high_resistance_ohm) & expected] = Cell.HIGH_RESISTANCE
    found[ohm <= limits.joined_ohm] = Cell.JOINED
    found[np.isnan(ohm)] = Cell.NOT_MEASURED
    return found


def without_resistors(ohm: Floats, found: NDArray[np.int8], resistors: Sequence[Resistor]) -> NDArray[np.int8]:
    """Return the cells of one cable with what expected resistors explain turned to OPEN.

    The cells are taken from the lowest ohms up: each joins two groups of contacts, or is the path through a
    resistor that belongs between the two, the resistance within the groups added. What comes later between groups
    so linked is the same path seen through more conductor.
    """
    size = len(ohm)
    group = list(range(size))
    within = [0.0] * size
    links: set[frozenset[int]] = set()
    explained = found.copy()
    rows, columns = np.nonzero(np.triu(found >= Cell.LEAKAGE, 1))
    for place in np.argsort(ohm[rows, columns], kind="stable"):
        i, j = int(rows[place]), int(columns[place])
        a, b = group[i], group[j]
        if a == b:
            continue
        value = float(ohm[i, j])
        link = frozenset((a, b))
        slack = within[a] + within[b]
        if link not in links and any(
            frozenset((group[r.a], group[r.b])) == link
            and any(low <= value <= high + slack for low, high in r.ranges_ohm)
            for r in resistors
        ):
            links.add(link)
        if link in links:
            explained[i, j] = explained[j, i] = Cell.OPEN
        elif found[i, j] >= Cell.HIGH_RESISTANCE:
            group = [a if label == b else label for label in group]
            within[a] = max(slack, value)
            links = {frozenset(a if label == b else label for label in pair) for pair in links}
    return explained


def nets(joined: Bools) -> NDArray[np.uint8]:
    """Return for each contact the lowest contact of its net: the transitive closure of joined.

    joined: (n, n) or (k, n, n), n <= 64, True = joined; one direction is enough, the diagonal does not matter.
    Returns (n,) or (k, n). A stack is worked off in chunks, so memory beyond input and result is small.
    """
    joined = np.asarray(joined, bool)
    size = joined.shape[-1] if joined.ndim else 0
    if joined.ndim not in (2, 3) or joined.shape[-2] != size or not 1 <= size <= LARGEST:
        raise ValueError(f"shape {joined.shape}: square matrices of 1 to {LARGEST} contacts are allowed, or a stack")
    stack = joined if joined.ndim == 3 else joined[np.newaxis]
    labels = np.empty(stack.shape[:2], np.uint8)
    for start in range(0, len(stack), CHUNK):
        labels[start : start + CHUNK] = _labels(stack[start : start + CHUNK])
    return labels if joined.ndim == 3 else labels[0]


def _labels(joined: Bools) -> NDArray[np.uint8]:
    """Close each matrix after Warshall, a row being one integer with a bit for each contact."""
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
