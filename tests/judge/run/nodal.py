"""Two-terminal resistances of a network by nodal analysis, for readings that real resistors give."""

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray


def two_terminal(size: int, parts: Iterable[tuple[int, int, float]]) -> NDArray[np.float64]:
    """Return the ohms between each two of `size` nodes, inf where nothing leads; parts: (node, node, ohm > 0)."""
    conductance = np.zeros((size, size))
    near = np.eye(size, dtype=bool)
    for a, b, ohm in parts:
        conductance[[a, b, a, b], [a, b, b, a]] += np.array([1.0, 1.0, -1.0, -1.0]) / ohm
        near[a, b] = near[b, a] = True
    connected = np.linalg.matrix_power(near.astype(float), size) > 0
    found = np.full((size, size), math.inf)
    for node in range(size):
        inside = np.nonzero(connected[node])[0]
        others = inside[inside != node]
        found[node, node] = 0.0
        if len(others):
            grounded = np.linalg.inv(conductance[np.ix_(others, others)])
            found[node, others] = np.diag(grounded)
    symmetric: NDArray[np.float64] = np.minimum(found, found.T)
    return symmetric
