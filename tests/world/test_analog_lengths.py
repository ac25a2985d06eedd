"""Lengths of cables that nobody told the product of, at a reduced count; the whole is in the long checks."""

from collections.abc import Callable

import pytest

from tests.world import analog_lengths


@pytest.mark.parametrize(
    ("check", "count"),
    [
        (analog_lengths.kind_unknown, 48),
        (analog_lengths.kind_unknown_without_trace, 240),
        (analog_lengths.kind_told, 36),
        (analog_lengths.kind_told_without_trace, 240),
        (analog_lengths.held_out, 48),
    ],
)
def test_lengths_of_the_analog_world(check: Callable[[int, int], str], count: int) -> None:
    """The 95 % interval holds the truth in 93 % and more, no sound cable fails, and it is as narrow as is said."""
    check(11, count)
