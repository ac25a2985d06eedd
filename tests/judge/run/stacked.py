"""The best pairing of each of many cables at once, and by how much: what pairing does, for rates over thousands."""

import numpy as np
from numpy.typing import NDArray

from wiremap.judge.run.network import Array
from wiremap.judge.run.pairing.matching import memberships


def best_matchings(weight: Array, sigma: float) -> tuple[NDArray[np.intp], Array]:
    """Return (index into `matchings(n)` [N], margin z [N]) of the heaviest pairing for each cable of a stack.

    weight: [N, n, n], the upper triangle is used. sigma: standard deviation of one weight. z is the smallest over all
    other pairings of (W_best - W_other) / (sigma sqrt(edges in which they differ)).
    """
    first, second = np.triu_indices(weight.shape[-1], 1)
    has = memberships(weight.shape[-1])
    differ = (has[:, None, :] != has[None, :, :]).sum(axis=2)
    np.fill_diagonal(differ, 1)
    sums = weight[:, first, second] @ has.T
    every = np.arange(len(sums))
    best = sums.argmax(axis=1)
    sums -= sums[every, best][:, None]
    sums /= np.sqrt(differ)[best]
    sums[every, best] = -np.inf
    return best, -sums.max(axis=1) / sigma
