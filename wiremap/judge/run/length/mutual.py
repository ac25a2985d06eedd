"""The capacitance of a pair in its cable, all else floating, and what each direct capacitance counts in it."""

import numpy as np

from wiremap.judge.run.network import Array


def mutual(direct_pf: Array, own_pf: Array, i: int, j: int) -> tuple[float, Array]:
    """Return what conductors i and j show with everything else floating, pF, and the shares [n + 1, n + 1] in it.

    direct_pf: [n, n] between conductors. own_pf: [n] to the surroundings, which float too, as the last node. With i
    and j one volt apart the charges settle at potentials phi of least energy, so that C = sum over a < b of
    C_ab (phi_a - phi_b)^2, and each share (phi_a - phi_b)^2 is also the derivative of C.
    """
    size = len(direct_pf)
    whole = np.zeros((size + 1, size + 1))
    whole[:size, :size] = direct_pf
    whole[:size, size] = whole[size, :size] = np.maximum(own_pf, 0.0)
    np.fill_diagonal(whole, 0.0)
    laplacian = np.diag(whole.sum(axis=1)) - whole
    free = [k for k in range(size + 1) if k not in (i, j)]
    potential = np.zeros(size + 1)
    potential[i] = 1.0
    inner = laplacian[np.ix_(free, free)] + 1e-9 * np.eye(len(free))
    potential[free] = np.linalg.solve(inner, -laplacian[np.ix_(free, [i])][:, 0])
    share = (potential[:, None] - potential[None, :]) ** 2
    return float((np.triu(whole, 1) * share).sum()), share
