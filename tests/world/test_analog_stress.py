"""Lengths of short leads, wet runs and odd insulation, at a reduced count; the whole is in the long checks."""

from collections.abc import Callable

import pytest

from tests.world import analog_stress


@pytest.mark.parametrize(
    ("check", "count"),
    [
        (analog_stress.dry, 72),
        (analog_stress.wet_with_trace, 24),
        (analog_stress.wet_without_trace, 72),
        (analog_stress.short_leads, 72),
        (analog_stress.permittivity, 24),
        (analog_stress.cold_and_hot, 24),
    ],
)
def test_lengths_of_odd_cables(check: Callable[[int, int], str], count: int) -> None:
    """Wet runs are found by reflections, and no length says more than it holds."""
    check(11, count)
