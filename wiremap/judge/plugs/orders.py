"""All orders of a plug as arrays, and chances spread over them.

An order is a row: the number of the conductor in each contact, -1 for an empty one. All orders of eight are
the 40 320 permutations in lexicographic order; `rank` is the row's place among them.
"""

import math
from collections.abc import Sequence
from functools import cache
from itertools import permutations
from typing import Any

import numpy as np

Rows = np.ndarray[Any, np.dtype[np.int8]]
Chances = np.ndarray[Any, np.dtype[np.float64]]
Places = np.ndarray[Any, np.dtype[np.intp]]

FULL = 8


@cache
def _orders(size: int) -> Rows:
    """Return all orders of so many conductors in lexicographic order, shape (size!, size)."""
    if size == 1:
        return np.zeros((1, 1), dtype=np.int8)
    shorter = _orders(size - 1).T[:, np.newaxis]
    first = np.arange(size, dtype=np.int8)[:, np.newaxis]
    contacts = np.empty((size, size, shorter.shape[-1]), dtype=np.int8)  # worked on contact by contact
    contacts[0] = first
    np.add(shorter, shorter >= first, out=contacts[1:])
    rows = contacts.reshape(size, -1).T
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


def _ranks(contacts: Sequence[Rows]) -> Places:
    """Return the same from what is in each contact, (R,) each."""
    return _in_falling_radix([_smaller(here, contacts[place + 1 :]) for place, here in enumerate(contacts)])


def _smaller(here: Rows, others: Sequence[Rows]) -> Rows:
    """Return how many of others are smaller, (R,)."""
    found = np.zeros(len(here), dtype=np.int8)
    for other in others:
        found += (other < here).view(np.int8)
    return found


def _in_falling_radix(smaller: Sequence[Rows]) -> Places:
    """Return the rank of orders of which it is said how many of the later contacts hold less than each, (R,) each."""
    found = np.zeros(len(smaller[0]), dtype=np.uint16)  # 8! fits
    for place, count in enumerate(smaller):
        found *= len(smaller) - place
        found += count.view(np.uint8)
    return found.astype(np.intp)


def spread(chances: Chances, theta: float) -> Chances:
    """Spread chances (40320, B) over orders by further exchanges: each exchange costs a factor theta.

    The result at an order is the sum over all orders o of chances[o] theta^(8 - cycles of the change from o),
    divided by the product of 1 + i theta, i = 1..7, so that the sum over all orders stays what it was. The
    sum over all permutations of theta^(8 - cycles) times the permutation factors into
    prod_{i=2..8} (1 + theta * sum_{j<i} (j i)) (Jucys 1974, Murphy 1981), which makes it 28 look-ups.
    """
    spreading, part, exchanged = chances.copy(), np.empty_like(chances), np.empty_like(chances)
    for size in range(2, FULL + 1):
        # Rows that begin alike lie together, size! of them, and exchanging two of their last `size` contacts
        # moves them among themselves in the same way everywhere.
        blocks = -1, math.factorial(size), chances.shape[1]
        np.multiply(spreading, theta, out=part)
        for moved in _exchanged_with_first(size):
            np.take(part.reshape(blocks), moved, axis=1, out=exchanged.reshape(blocks), mode="clip")
            spreading += exchanged
        spreading /= 1.0 + (size - 1) * theta
    return spreading


@cache
def _exchanged_with_first(size: int) -> tuple[Places, ...]:
    """Return for each contact but the first where the orders of `size` conductors go when it is exchanged with it."""
    contacts = tuple(_orders(size).T)
    first = contacts[0]
    before = [_smaller(here, contacts[place + 1 :]) for place, here in enumerate(contacts)]
    found = []
    for other in range(1, size):
        there = contacts[other]
        between = [
            before[place] + (first < contacts[place]).view(np.int8) - (there < contacts[place]).view(np.int8)
            for place in range(1, other)
        ]
        at_other = _smaller(first, contacts[other + 1 :])
        found.append(_in_falling_radix([there, *between, at_other, *before[other + 1 :]]))  # less than n are n
    return tuple(found)


def placements(contacts: int, conductors: int) -> Rows:
    """Return every way to put so many conductors into so many contacts, one a contact, shape (R, contacts)."""
    found = np.full((math.perm(contacts, conductors), contacts), -1, dtype=np.int8)
    for number, places in enumerate(permutations(range(contacts), conductors)):
        for conductor, place in enumerate(places):
            found[number, place] = conductor
    return found


def exchanges(rows: Rows, template: Sequence[int], conductors: int) -> Places:
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
