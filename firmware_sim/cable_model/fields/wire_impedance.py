"""The inner impedance of a round wire with skin effect, and the loss of its insulation."""

import math

import numpy as np

from firmware_sim.cable_model.arrays import Complex
from firmware_sim.cable_model.direct_current.copper import diameter_mm

MU_0 = 4e-7 * math.pi
PROXIMITY = 1.35  # the twin wire's part beyond d.c. against a lone wire's (assumption)
LOSS_ANGLE = 3e-4  # of polyethylene (assumption)
FLAT_AT_RAD_PER_S = 1e5  # where the capacitance is the one in the tables


def bessel_ratio(z: Complex) -> Complex:
    """Return I0(z) / I1(z) of the modified Bessel functions, for Re z > 0; at 0 it is infinite.

    Small arguments by the continued fraction (DLMF 10.33.1, from memory), large ones by the asymptotic series
    (DLMF 10.40.1); both to 1e-9.
    """
    near = np.abs(z) < 30
    inner = np.where(near, z, 1.0)
    ratio = np.zeros_like(inner)
    for order in range(80, 0, -1):
        ratio = 1 / (2 * order / inner + ratio)
    outer = np.where(near, 30.0, z)
    zero, one = (_asymptotic(outer, 4.0 * order * order) for order in (0, 1))
    result: Complex = np.where(near, 1 / ratio, zero / one)
    return result


def _asymptotic(z: Complex, mu: float) -> Complex:
    total = np.ones_like(z)
    term = np.ones_like(z)
    for k in range(1, 9):
        term = -term * (mu - (2 * k - 1) ** 2) / (k * 8 * z)
        total = total + term
    return total


def ohm_per_m_at(s: Complex, dc_ohm_per_m: float, awg: int) -> Complex:
    """Return the inner impedance of a conductor of a pair at complex frequency s (rad/s, Re s > 0), ohm per metre.

    The d.c. part fixes the metal; solid round wire (any text on skin effect), with PROXIMITY on what exceeds d.c.
    """
    radius_m = diameter_mm(awg) * 0.5e-3
    conductivity = 1 / (dc_ohm_per_m * math.pi * radius_m**2)
    z = np.sqrt(s * (MU_0 * conductivity)) * radius_m
    alone = dc_ohm_per_m * z / 2 * bessel_ratio(z)
    inner: Complex = dc_ohm_per_m + PROXIMITY * (alone - dc_ohm_per_m)
    return inner


def dielectric_factor(s: Complex) -> Complex:
    """Return what the capacitance is multiplied with at s: a causal law of constant loss angle, 1 at s = 1e5 rad/s."""
    factor: Complex = (s / FLAT_AT_RAD_PER_S) ** (-2 / math.pi * LOSS_ANGLE)
    return factor
