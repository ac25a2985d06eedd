"""Water in a tenth of a run and more, in cables of the analog world: found by traces; no dry cable is called wet."""

import math

import numpy as np
import pytest

from tests.world.analog import Wet, draw, measure
from tests.world.analog_lengths import NAMES, pattern_of
from wiremap.cable.patterns import pattern
from wiremap.judge.findings import Finding
from wiremap.judge.verdict import Diagnosis, judge

WET = "wet-or-wrong-cable"


def judged(name: str, length_m: float, rng: np.random.Generator, wet: Wet | None) -> Diagnosis:
    """Judge a cable of the world, with water in part of it or none."""
    return judge(measure(draw(name, length_m, rng, wet=wet), rng), pattern(pattern_of(name)))


def wet_of(found: Diagnosis) -> list[Finding]:
    """Return what is said of water."""
    return [finding for finding in found.findings if finding.fault == WET]


@pytest.mark.parametrize("seed", [1, 2])
def test_no_dry_cable_is_called_wet(seed: int) -> None:
    """Of 44 dry cables of all kinds from -10 to 60 degrees C none is called wet."""
    rng = np.random.default_rng(seed)
    for number in range(44):
        name = tuple(NAMES)[number % len(NAMES)]
        length_m = math.exp(rng.uniform(0.0, math.log(60.0)))
        assert wet_of(judged(name, length_m, rng, None)) == [], (name, length_m)


def test_a_wet_part_is_found() -> None:
    """Of 44 cables with water in a tenth to four tenths at least three quarters are found; the length mostly holds."""
    rng = np.random.default_rng(3)
    found = held = 0
    for number in range(44):
        name = tuple(NAMES)[number % len(NAMES)]
        length_m = math.exp(rng.uniform(math.log(5.0), math.log(40.0)))
        wet = Wet(rng.uniform(0.15, 0.5) * length_m, rng.uniform(0.1, 0.4) * length_m, rng.uniform(1.8, 2.5))
        said = judged(name, length_m, rng, wet)
        found += bool(wet_of(said))
        held += bool(said.lengths) and said.lengths[-1].low_m <= length_m <= said.lengths[-1].high_m
    assert found >= 33
    assert held >= 33
