"""A cable as a network of capacitances: what two contacts, or groups of them, see of it.

Arrays may be stacks: [..., n, n] over n conductors. Picofarads throughout. Maxwell's matrix has the negative
direct capacitances off its diagonal; what a row leaves over is the conductor's own to the reference (foil,
surroundings).
"""

import numpy as np
from numpy.typing import NDArray

from wiremap.cable.materials import KindMatrices

Array = NDArray[np.float64]
TINY_PF = 1e-6


def with_reference(maxwell: Array, pin_pf: Array | float, screen_tied: bool, stray_pf: float) -> Array:
    """Return the matrix of all nodes against the tester's ground, each pin's own capacitance added.

    screen_tied: the reference is the tester's ground; otherwise it floats as one node more, the last.
    """
    size = maxwell.shape[-1]
    pins = np.broadcast_to(np.asarray(pin_pf, dtype=float), maxwell.shape[:-1])
    if screen_tied:
        tied: Array = maxwell + np.maximum(pins, TINY_PF)[..., None] * np.eye(size)
        return tied
    whole = np.zeros((*maxwell.shape[:-2], size + 1, size + 1))
    own = maxwell.sum(axis=-1)
    whole[..., :size, :size] = maxwell + np.maximum(pins, TINY_PF)[..., None] * np.eye(size)
    whole[..., :size, size] = -own
    whole[..., size, :size] = -own
    whole[..., size, size] = own.sum(axis=-1) + max(stray_pf, TINY_PF)
    return whole


def two_terminal(maxwell: Array, pin_pf: Array | float, screen_tied: bool, stray_pf: float) -> Array:
    """Return what conductor i shows with j on the tester's ground and all others floating, pin i's own taken off.

    Result [..., i, j]; diagonal 0. With K the inverse of the matrix of all nodes, grounding j leaves
    1 / (K_ii - K_ij^2 / K_jj).
    """
    size = maxwell.shape[-1]
    inverse = np.linalg.inv(with_reference(maxwell, pin_pf, screen_tied, stray_pf))[..., :size, :size]
    own = np.diagonal(inverse, axis1=-2, axis2=-1)
    left = own[..., :, None] - inverse**2 / own[..., None, :]
    diagonal = np.eye(size, dtype=bool)
    left = np.where(diagonal, 1.0, left)
    pins = np.maximum(np.broadcast_to(np.asarray(pin_pf, dtype=float), maxwell.shape[:-1]), TINY_PF)
    return np.where(diagonal, 0.0, 1.0 / left - pins[..., :, None])


def direct(single: Array, double: Array) -> Array:
    """Return the direct capacitance between each two conductors: (S_i + S_j - D_ij) / 2; pins cancel in it."""
    between = (single[..., :, None] + single[..., None, :] - double) / 2
    return np.where(np.eye(single.shape[-1], dtype=bool), 0.0, between)


def pair_capacitance(kind: KindMatrices, length_m: Array, pin_pf: float, screen_tied: bool, stray_pf: float) -> Array:
    """Return what a pair of a cable of this kind shows at each length [m], the mean of its four pairs [m]."""
    per_m = np.asarray(kind.capacitance_pf_per_m)
    shown = two_terminal(per_m * np.asarray(length_m, dtype=float)[:, None, None], pin_pf, screen_tied, stray_pf)
    pairs = np.arange(0, len(per_m), 2)
    mean: Array = shown[:, pairs, pairs + 1].mean(axis=1)
    return mean
