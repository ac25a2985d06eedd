"""Breaks and metal of cables that nobody told the product of, at a reduced count; the whole is in the long checks."""

from collections.abc import Callable

import pytest

from tests.world import analog_breaks, analog_metal


@pytest.mark.parametrize(
    ("check", "count"),
    [
        (analog_breaks.both_plugs, 180),
        (analog_breaks.both_plugs_with_trace, 36),
        (analog_breaks.far_free, 180),
        (analog_breaks.far_free_with_trace, 36),
        (analog_breaks.two_contacts_at_a_time, 144),
        (analog_breaks.several, 144),
        (analog_breaks.at_plugs, 144),
    ],
)
def test_breaks_of_the_analog_world(check: Callable[[int, int], str], count: int) -> None:
    """The right conductor is named, the right plug, and the interval of its place holds the truth."""
    check(11, count)


def test_metal_of_the_analog_world() -> None:
    """Copper-clad is found where the kind is told, copper is not accused, and nothing is without a kind."""
    analog_metal.metal(11, 176)
