"""All orders of a plug as arrays, and chances spread over them.

An order is a row: the number of the conductor in each contact, -1 for an empty one. All orders of eight are
the 40 320 permutations in lexicographic order; `rank` is the row's place among them.
"""

import math
from collections.abc import Sequence
from functools import cache
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

Rows = NDArray[np.int8]
Chances = NDArray[np.float64]
Places = NDArray[np.intp]

FULL = 8
# An order of eight is known by its first seven digits; a digit takes three bits.
_WEIGHTS = np.array([8 ** (6 - place) if place < 7 else 0 for place in range(FULL)], dtype=np.int32)


@cache
def full_orders() -> Rows:
    """Return all orders of eight conductors, shape (40320, 8)."""
    rows = np.zeros((1, 1), dtype=np.int8)
    for size in range(2, FULL + 1):
        blocks = []
        for first in range(size):
            rest = rows + (rows >= first)
            blocks.append(np.concatenate([np.full((len(rest), 1), first, dtype=np.int8), rest], axis=1))
        rows = np.concatenate(blocks).astype(np.int8)
    rows = np.asfortranarray(rows)  # worked on contact by contact
    rows.setflags(write=False)
    return rows


def codes(rows: Rows) -> NDArray[np.int32]:
    """Return a number for each full order (R, 8) that no other order has, shape (R,)."""
    code = np.zeros(len(rows), dtype=np.int32)
    for place in range(FULL - 1):
        code += rows[:, place] * _WEIGHTS[place]
    return code


@cache
def _ranks_by_code() -> NDArray[np.uint16]:
    table = np.zeros(8**7, dtype=np.uint16)
    table[codes(full_orders())] = np.arange(math.factorial(FULL), dtype=np.uint16)
    return table


def ranks(rows: Rows) -> Places:
    """Return each full order's place in `full_orders()`, shape (R,)."""
    return np.take(_ranks_by_code(), codes(rows)).astype(np.intp)


def spread(chances: Chances, theta: float) -> Chances:
    """Spread chances (40320, B) over orders by further exchanges: each exchange costs a factor theta.

    The result at an order is the sum over all orders o of chances[o] theta^(8 - cycles of the change from o),
    divided by the product of 1 + i theta, i = 1..7, so that the sum over all orders stays what it was. The
    sum over all permutations of theta^(8 - cycles) times the permutation factors into
    prod_{i=2..8} (1 + theta * sum_{j<i} (j i)) (Jucys 1974, Murphy 1981), which makes it 28 look-ups.
    """
    rows = full_orders()
    own = codes(rows)
    table = _ranks_by_code()
    for i in range(1, FULL):
        spreading = chances.copy()
        for j in range(i):
            change = (rows[:, j] - rows[:, i]) * (_WEIGHTS[i] - _WEIGHTS[j])
            spreading += theta * chances[table[own + change]]
        chances = spreading / (1.0 + i * theta)
    return chances


def placements(contacts: int, conductors: int) -> Rows:
    """Return every way to put so many conductors into so many contacts, one a contact, shape (R, contacts)."""
    found = np.full((math.perm(contacts, conductors), contacts), -1, dtype=np.int8)
    for number, places in enumerate(permutations(range(contacts), conductors)):
        for conductor, place in enumerate(places):
            found[number, place] = conductor
    return found


def exchanges(rows: Rows, template: Sequence[int], conductors: int) -> NDArray[np.intp]:
    """Return how many exchanges lead from the template (contacts,) to each row (R, contacts), shape (R,).

    Conductors less closed cycles; a chain that ends in an empty contact closes nothing.
    """
    pattern = np.asarray(template, dtype=np.int8)
    where = np.zeros((len(rows), conductors), dtype=np.intp)
    line, place = np.nonzero(rows >= 0)
    where[line, rows[line, place]] = place
    leads_to = pattern[where]
    lines = np.arange(len(rows))[:, None]
    own = np.arange(conductors)[None, :]
    at = leads_to.astype(np.intp)
    smallest = np.broadcast_to(own, at.shape).copy()
    closed = np.zeros(at.shape, dtype=bool)
    for _ in range(conductors):
        closed |= at == own
        alive = (at >= 0) & ~closed
        smallest = np.where(alive, np.minimum(smallest, at), smallest)
        at = np.where(alive, leads_to[lines, np.maximum(at, 0)], np.where(closed, own, -1))
    cycles = (closed & (smallest == own)).sum(axis=1)
    return np.asarray(conductors - cycles, dtype=np.intp)


def normaliser(contacts: int, conductors: int, theta: float) -> float:
    """Return the sum of theta^exchanges over all placements: the product of 1 + i theta, i from the empty contacts."""
    return math.prod(1.0 + place * theta for place in range(contacts - conductors, contacts))
