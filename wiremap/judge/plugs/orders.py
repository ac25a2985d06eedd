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


@cache
def _orders(size: int) -> Rows:
    """Return all orders of so many conductors in lexicographic order, shape (size!, size)."""
    if size == 1:
        return np.zeros((1, 1), dtype=np.int8)
    shorter = _orders(size - 1)
    blocks = []
    for first in range(size):
        rest = shorter + (shorter >= first)
        blocks.append(np.concatenate([np.full((len(rest), 1), first, dtype=np.int8), rest], axis=1))
    rows = np.asfortranarray(np.concatenate(blocks).astype(np.int8))  # worked on contact by contact
    rows.setflags(write=False)
    return rows


def full_orders() -> Rows:
    """Return all orders of eight conductors, shape (40320, 8)."""
    return _orders(FULL)


def ranks(rows: Rows) -> Places:
    """Return the place of each order (R, size) of all its conductors among those in lexicographic order, shape (R,)."""
    return _ranks(tuple(np.asfortranarray(rows).T))  # worked on contact by contact


def rank(order: Sequence[int]) -> int:
    """Return the place of one order of all its conductors among those in lexicographic order."""
    found = 0
    for place, here in enumerate(order):
        found = found * (len(order) - place) + sum(later < here for later in order[place + 1 :])
    return found


def _ranks(contacts: Sequence[NDArray[np.int8]]) -> Places:
    """Return the same from what is in each contact, (R,) each: how many later ones are smaller, in falling radix."""
    found = np.zeros(len(contacts[0]), dtype=np.uint16)  # 8! fits
    for place, here in enumerate(contacts):
        found *= len(contacts) - place
        smaller = np.zeros(len(here), dtype=np.uint8)
        for later in contacts[place + 1 :]:
            smaller += (later < here).view(np.uint8)
        found += smaller
    return found.astype(np.intp)


def spread(chances: Chances, theta: float) -> Chances:
    """Spread chances (40320, B) over orders by further exchanges: each exchange costs a factor theta.

    The result at an order is the sum over all orders o of chances[o] theta^(8 - cycles of the change from o),
    divided by the product of 1 + i theta, i = 1..7, so that the sum over all orders stays what it was. The
    sum over all permutations of theta^(8 - cycles) times the permutation factors into
    prod_{i=2..8} (1 + theta * sum_{j<i} (j i)) (Jucys 1974, Murphy 1981), which makes it 28 look-ups.
    """
    for size in range(2, FULL + 1):
        # Rows that begin alike lie together, size! of them, and exchanging two of their last `size` contacts
        # moves them among themselves in the same way everywhere.
        blocks = chances.reshape(-1, math.factorial(size), chances.shape[1])
        spreading = blocks.copy()
        for moved in _exchanged_with_first(size):
            spreading += theta * np.take(blocks, moved, axis=1)
        chances = spreading.reshape(chances.shape) / (1.0 + (size - 1) * theta)
    return chances


@cache
def _exchanged_with_first(size: int) -> tuple[Places, ...]:
    """Return for each contact but the first where the orders of `size` conductors go when it is exchanged with it."""
    first, *others = _orders(size).T
    found = []
    for other, there in enumerate(others):
        found.append(_ranks((there, *others[:other], first, *others[other + 1 :])))
    return tuple(found)


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
