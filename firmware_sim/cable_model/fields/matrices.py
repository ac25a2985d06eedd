"""The capacitance and inductance of a metre of a span, as matrices."""

import numpy as np

from firmware_sim.cable_model.arrays import Matrix
from firmware_sim.cable_model.laid_out.run import Span


def capacitance_f_per_m(span: Span) -> Matrix:
    """Return the Maxwell capacitance matrix of a metre, F, against the screen or the surroundings, [n][n]."""
    table = span.kind.wet_c_pf_per_m if span.wet else span.kind.c_pf_per_m
    return _scaled(np.array(table) * 1e-12, span.c_factor)


def inductance_h_per_m(span: Span) -> Matrix:
    """Return the external inductance matrix of a metre, H, [n][n]."""
    return _scaled(np.array(span.kind.l_nh_per_m) * 1e-9, span.l_factor)


def _scaled(matrix: Matrix, factor: tuple[float, ...]) -> Matrix:
    root = np.sqrt(np.array(factor))
    scaled: Matrix = matrix * root[:, None] * root[None, :]
    return scaled
