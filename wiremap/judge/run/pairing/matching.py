"""The best of all pairings of n conductors, and by how much, for one cable or a stack of them.

With n conductors there are (n - 1)(n - 3)... pairings of all of them (n = 8: 105), few enough to weigh every
one. An error that belongs to one conductor alone (its pin, its gain) is in every pairing once and cannot change
which of them weighs most.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
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
def _tables(size: int) -> tuple[NDArray[np.intp], NDArray[np.intp], Array, Array]:
    """Return (i, j) of the edges, which matching [m] has which edge [e], and 1/sqrt(edges in which two differ)."""
    first, second = np.triu_indices(size, 1)
    place = {edge: number for number, edge in enumerate(zip(first.tolist(), second.tolist(), strict=True))}
    every = matchings(size)
    has = np.zeros((len(every), len(first)))
    for row, edges in enumerate(every):
        has[row, [place[edge] for edge in edges]] = 1.0
    differ = (has[:, None, :] != has[None, :, :]).sum(axis=2)
    np.fill_diagonal(differ, 1)
    return first, second, has, 1.0 / np.sqrt(differ)


def memberships(size: int) -> Array:
    """Return [m, e], 1.0 where matching m has edge e; edges in the order of numpy.triu_indices(size, 1)."""
    return _tables(size)[2]


def best_matchings(weight: Array, sigma: Array | float) -> tuple[NDArray[np.intp], Array]:
    """Return (index into `matchings(n)` [N], margin z [N]) of the heaviest pairing for each cable of a stack.

    weight: [N, n, n], the upper triangle is used. sigma: standard deviation of one weight, [N] or one for all.
    z is the smallest over all other pairings of (W_best - W_other) / (sigma sqrt(edges in which they differ)).
    """
    first, second, has, scale = _tables(weight.shape[-1])
    sums = weight[:, first, second] @ has.T
    best = sums.argmax(axis=1)
    sums -= sums[np.arange(len(sums)), best][:, None]
    np.multiply(sums, scale[best], out=sums)
    sums[np.arange(len(sums)), best] = -np.inf
    return best, -sums.max(axis=1) / sigma
