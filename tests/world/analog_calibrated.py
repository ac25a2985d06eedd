"""Kinds taught with one cable of the analog world, and tried on others: how often the 95 % interval holds the length.

A tester is drawn, and teaches with a cable of 20 m from one reel. What it taught is then used for cables of the same
reel, of another reel of that make, of another make and of another kind, by the tester's own errors. The world draws
makes; a reel of a make is drawn beside it, by what reels differ by (assumed: 0.9 % of velocity, 1.2 % of impedance).
"""

import math
from collections import defaultdict
from dataclasses import replace

import numpy as np

from tests.world.analog import Instrument, Reel, draw, instrument, kinds, measure, reel
from tests.world.analog_lengths import NAMES, WIDE_FROM_M, pattern_of
from wiremap.cable.kinds import Kind
from wiremap.cable.limits import limits
from wiremap.cable.patterns import pattern
from wiremap.errors import UsageError
from wiremap.judge.taught import LEVELS, Level, kind_taught
from wiremap.judge.verdict import Options, judge
from wiremap.records.own_kinds import kind_called

KNOWN_M, KNOWN_U = 20.0, 0.005
SHORTEST_M, LONGEST_M = 1.0, 90.0
REEL_VELOCITY_U, REEL_IMPEDANCE_U, REEL_WIRE_U = 0.009, 0.012, 0.005
TRULY = {"reel": ("same reel",), "make": ("same reel", "other reel"), "kind": ("same reel", "other reel", "other make")}


def other_reel(make: Reel, rng: np.random.Generator) -> Reel:
    """Return another reel of a make: insulation that slows by more or less, another spacing, another wire."""
    slow = math.exp(2 * rng.normal(0.0, REEL_VELOCITY_U))  # a permittivity: velocity is its root
    near = math.exp(rng.normal(0.0, REEL_IMPEDANCE_U))
    thick = make.thick * math.exp(rng.normal(0.0, REEL_WIRE_U))
    return replace(
        make,
        pf=make.pf * slow * near,
        to_reference_pf=make.to_reference_pf * slow * near,
        bare_pf=make.bare_pf * near,
        bare_to_reference_pf=make.bare_to_reference_pf * near,
        thick=thick,
    )


def taught(name: str, make: Reel, level: Level, own: Instrument, rng: np.random.Generator) -> Kind:
    """Return what a cable of a known length from a reel teaches a tester, the length known to half a percent."""
    cable = draw(name, KNOWN_M * float(np.exp(rng.normal(0.0, KNOWN_U))), rng, of=make)
    seen = measure(cable, rng, by=own)
    return kind_taught(seen, "own", KNOWN_M, KNOWN_U * KNOWN_M, level, kind_called(NAMES[name]), None, limits())


def held_by(seed: int, count: int) -> str:
    """Kinds taught and said truly hold the length in 93 % of cables; said falsely, the figures are given."""
    rng = np.random.default_rng(seed)
    held: defaultdict[tuple[str, str], list[bool]] = defaultdict(list)
    half: defaultdict[str, list[float]] = defaultdict(list)
    refused = 0
    for number in range(count):
        name = tuple(NAMES)[number % len(NAMES)]
        other = tuple(NAMES)[int(rng.integers(len(NAMES)))]
        own, make = instrument(rng), reel(kinds()[name], "copper", rng)
        reels = {"same reel": (name, make), "other reel": (name, other_reel(make, rng)), "other make": (name, None)}
        if other != name:
            reels["other kind"] = other, None
        try:
            own_kinds = {level: taught(name, make, level, own, rng) for level in LEVELS}
        except UsageError:
            refused += 1
            continue
        for of, (drawn, from_reel) in reels.items():
            length_m = math.exp(rng.uniform(math.log(SHORTEST_M), math.log(LONGEST_M)))
            cable = draw(drawn, length_m, rng) if from_reel is None else draw(drawn, length_m, rng, of=from_reel)
            reading = measure(cable, rng, by=own)
            for level in LEVELS:
                found = judge(reading, pattern(pattern_of(drawn)), Options(kind=own_kinds[level])).lengths
                held[level, of].append(bool(found) and found[-1].low_m <= length_m <= found[-1].high_m)
                if found and length_m >= WIDE_FROM_M:
                    half[level].append((found[-1].high_m - found[-1].low_m) / 2 / found[-1].length_m)
    said = ", ".join(f"{level} on {of} {np.mean(many):.3f}" for (level, of), many in held.items())
    said = f"{said}; half " + ", ".join(f"{level} {np.median(many):.3f}" for level, many in half.items())
    said += f"; refused {refused} of {count}"
    for said_of, cells in TRULY.items():
        for of in cells:
            many = held[said_of, of]
            assert np.mean(many) >= 0.93 - 2 * math.sqrt(0.93 * 0.07 / len(many)), said
    assert refused <= 0.01 * count + 2 * math.sqrt(0.01 * count), said
    return said


def lengths_checked(seed: int, count: int) -> str:
    """A cable's true length is never refused, one a fifth off always is, and one a tenth off mostly."""
    rng = np.random.default_rng(seed)
    refused: defaultdict[float, int] = defaultdict(int)
    for number in range(count):
        name = tuple(NAMES)[number % len(NAMES)]
        reading = measure(draw(name, KNOWN_M, rng), rng)
        for said in (1.0, 0.9, 1.1, 0.8, 1.2):
            given_m = KNOWN_M * said
            try:
                kind_taught(
                    reading, "own", given_m, KNOWN_U * given_m, "reel", kind_called(NAMES[name]), None, limits()
                )
            except UsageError:
                refused[said] += 1
    said_of = ", ".join(
        f"{share:.1f} of its length {refused[share] / count:.3f}" for share in (1.0, 0.9, 1.1, 0.8, 1.2)
    )
    assert refused[1.0] <= 0.01 * count + 2 * math.sqrt(0.01 * count), said_of
    assert refused[0.8] == refused[1.2] == count, said_of
    return f"refused {said_of}"
