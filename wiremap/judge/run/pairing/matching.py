"""All pairings of n conductors.

With n conductors there are (n - 1)(n - 3)... pairings of all of them (n = 8: 105), few enough to weigh every
one. An error that belongs to one conductor alone (its pin, its gain) is in every pairing once and cannot change
which of them weighs most.
"""

from functools import cache

import numpy as np

from wiremap.judge.run.network import Array

Edges = tuple[tuple[int, int], ...]


@cache
def matchings(size: int) -> tuple[Edges, ...]:
    """Return all pairings of 0..size-1, each as pairs (low, high) in order; one is left over when size is odd."""

    def complete(left: tuple[int, ...]) -> list[Edges]:
        if len(left) < 2:
            return [()]
        found = []
        if len(left) % 2:
            found += complete(left[1:])
        for place in range(1, len(left)):
            rest = left[1:place] + left[place + 1 :]
            found += [((left[0], left[place]), *others) for others in complete(rest)]
        return found

    return tuple(complete(tuple(range(size))))


@cache
def memberships(size: int) -> Array:
    """Return [m, e], 1.0 where matching m has edge e; edges in the order of numpy.triu_indices(size, 1)."""
    first, second = np.triu_indices(size, 1)
    place = {edge: number for number, edge in enumerate(zip(first.tolist(), second.tolist(), strict=True))}
    every = matchings(size)
    has = np.zeros((len(every), len(first)))
    for row, edges in enumerate(every):
        has[row, [place[edge] for edge in edges]] = 1.0
    has.flags.writeable = False
    return has
