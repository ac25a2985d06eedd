"""Ranges: what is a number of them, one by one and many at once."""

import math

import numpy as np
import pytest

from wiremap.errors import FileError
from wiremap.ranges import PICOFARADS, TICKS, Range, check_numbers

ODD: tuple[object, ...] = (
    None, True, False, "open", "1", [], math.nan, math.inf, -math.inf, 10**400, -(10**400), 0, -1, 1, 2.0, 2.5, 1e6,
    1e300, -1e3, -1000.0000001, 10**9, 10**9 + 1, np.float64(3.0), np.float64("nan"), np.int64(3),
)  # fmt: skip


@pytest.mark.parametrize("allowed", [PICOFARADS, TICKS, Range(0.0, 1.0, "")])
def test_many_at_once_are_looked_at_as_one_by_one(allowed: Range) -> None:
    """Booleans, NaN, numbers of any length and of a library's own kinds included."""
    assert [id(value) for value in allowed.misfits(ODD)] == [id(value) for value in ODD if not allowed.has(value)]


def test_what_does_not_fit_is_named() -> None:
    """The first value out of range is in the error, with what is allowed there; null is allowed where it is said."""
    check_numbers("here", (0, None, 3), TICKS)
    with pytest.raises(FileError, match="here is -1") as raised:
        check_numbers("here", (0, None, -1, 2.5), TICKS)
    assert "a whole number from 0 to 1e+09 ticks, or null" in str(raised.value.hint)
    with pytest.raises(FileError, match="here is None"):
        check_numbers("here", (0, None), TICKS, ())
