"""Lengths of short leads, wet runs and odd insulation, at a reduced count; the whole is in the long checks."""

from collections.abc import Callable

import numpy as np
import pytest

from tests.world import analog_stress
from tests.world.analog import draw, measure
from wiremap.cable.patterns import pattern
from wiremap.judge.verdict import judge
from wiremap.report.words.measurements import run_sentence


@pytest.mark.parametrize(
    ("check", "count"),
    [
        (analog_stress.dry, 72),
        (analog_stress.wet_with_trace, 24),
        (analog_stress.wet_without_trace, 72),
        (analog_stress.short_leads, 72),
        (analog_stress.permittivity, 24),
        (analog_stress.cold_and_hot, 24),
        (analog_stress.kinds_said, 72),
    ],
)
def test_lengths_of_odd_cables(check: Callable[[int, int], str], count: int) -> None:
    """Wet runs are found by reflections, and no length says more than it holds."""
    check(11, count)


def test_the_page_says_that_a_length_is_of_a_dry_cable() -> None:
    """Where no echo came from the end, and only there; what that is worth is counted above."""
    rng = np.random.default_rng(4)
    cable = draw("cat6-uutp-23", 20.0, rng)
    for trace in (True, False):
        found = judge(measure(cable, rng, trace=trace), pattern("straight"))
        said = run_sentence(found)
        assert ("if dry; a wet tenth adds up to 13 %" in said) is not trace
