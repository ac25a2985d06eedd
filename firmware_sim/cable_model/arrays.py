"""The two kinds of array that the room computes with, and what is done to the matrix of any network of admittances."""

from collections.abc import Sequence
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

Matrix = npt.NDArray[np.floating[Any]]
Complex = npt.NDArray[np.complexfloating[Any, Any]]
Array = TypeVar("Array", Matrix, Complex)


def add_between(matrix: Array, ends: Sequence[int], value: float) -> None:
    """Put an admittance between two nodes, or between one and the reference, into [..., n, n]."""
    for k in ends:
        matrix[..., k, k] += value
    if len(ends) == 2:
        matrix[..., ends[0], ends[1]] -= value
        matrix[..., ends[1], ends[0]] -= value


def without_floating(matrix: Array, kept: Sequence[int], floating: Sequence[int], least: float = 0.0) -> Array:
    """Return [..., n, n] as kept nodes show it while others float; least: what each of those has to the reference."""
    own = matrix[..., kept, :][..., kept]
    if not floating:
        return own
    inner = matrix[..., floating, :][..., floating] + least * np.eye(len(floating))
    across = matrix[..., kept, :][..., floating]
    reduced: Array = own - across @ np.linalg.solve(inner, matrix[..., floating, :][..., kept])
    return reduced
