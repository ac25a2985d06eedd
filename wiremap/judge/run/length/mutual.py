"""The capacitance of pairs in their cable, all else floating, and what each direct capacitance counts in it."""

from collections.abc import Sequence

import numpy as np

from wiremap.judge.run.network import Array


def mutual(direct_pf: Array, own_pf: Array, pairs: Sequence[tuple[int, int]]) -> tuple[Array, Array]:
    """Return what conductors i and j of pairs [p] show with all else floating, pF, and shares [p, n + 1, n + 1] in it.

    direct_pf: [n, n] between conductors, diagonal 0. own_pf: [n] to the surroundings, which float too, as the last
    node. With i and j one volt apart the charges settle at potentials phi of least energy, so that C = sum over a < b
    of C_ab (phi_a - phi_b)^2, and each share (phi_a - phi_b)^2 is also the derivative of C. With K the inverse of
    the nodes' matrix, made regular by a constant that no difference sees, 1 / C = K_ii + K_jj - 2 K_ij.
    """
    size = len(direct_pf)
    whole = np.zeros((size + 1, size + 1))
    whole[:size, :size] = direct_pf
    whole[:size, size] = whole[size, :size] = np.maximum(own_pf, 0.0)
    whole += 1e-9
    np.fill_diagonal(whole, 0.0)
    potentials = np.linalg.inv(np.diag(whole.sum(axis=1)) - whole + 1.0)
    rows, columns = np.array(pairs).T
    between = potentials[rows] - potentials[columns]
    places = np.arange(len(rows))
    pf = 1 / (between[places, rows] - between[places, columns])
    volts = between * pf[:, None]
    return pf, (volts[:, :, None] - volts[:, None, :]) ** 2
