"""Kinds taught with one cable of the analog world, and tried on others: how often the 95 % interval holds the length.

A tester is drawn, and teaches with a cable of 20 m from one reel. What it taught is then used for cables of the same
reel, of another reel of that make, of another make and of another kind, by the tester's own errors. The world draws
makes by geometry and insulation; a maker's own runs differ in the same things by half as much (assumed), so that the
product's figures of reels and makes have no part in it.
"""

import math
from collections import defaultdict
from dataclasses import replace

import numpy as np

from tests.world.analog import Instrument, Kind, Reel, draw, instrument, kinds, measure, reel
from tests.world.analog.panels import Array
from tests.world.analog_lengths import NAMES, WIDE_FROM_M, pattern_of
from wiremap.cable import kinds as product
from wiremap.cable.limits import limits
from wiremap.cable.patterns import pattern
from wiremap.errors import UsageError
from wiremap.judge.taught import LEVELS, Level, kind_taught
from wiremap.judge.verdict import Options, judge
from wiremap.records.own_kinds import kind_called

KNOWN_M, KNOWN_U = 20.0, 0.005
SHORTEST_M, LONGEST_M = 1.0, 90.0
REELS = 0.5  # of what makes differ by
TRULY = {"reel": ("same reel",), "make": ("same reel", "other reel"), "kind": ("same reel", "other reel", "other make")}


def other_reel(kind: Kind, make: Reel, rng: np.random.Generator) -> Reel:
    """Return another reel of a make: moved as one make differs from another, by REELS times as much."""
    one, other = (reel(kind, "copper", rng) for _ in range(2))

    def moved(was: Array, a: Array, b: Array) -> Array:
        some = (a > 0) & (b > 0)
        return np.asarray(was * (np.where(some, a, 1.0) / np.where(some, b, 1.0)) ** (REELS / math.sqrt(2)))

    return replace(
        make,
        pf=moved(make.pf, one.pf, other.pf),
        to_reference_pf=moved(make.to_reference_pf, one.to_reference_pf, other.to_reference_pf),
        bare_pf=moved(make.bare_pf, one.bare_pf, other.bare_pf),
        bare_to_reference_pf=moved(make.bare_to_reference_pf, one.bare_to_reference_pf, other.bare_to_reference_pf),
        wire=replace(
            make.wire, strand_m=make.wire.strand_m * (one.wire.strand_m / other.wire.strand_m) ** (REELS / math.sqrt(2))
        ),
        thick=moved(make.thick, one.thick, other.thick),
        longer=moved(make.longer, one.longer, other.longer),
    )


def taught(name: str, make: Reel, level: Level, own: Instrument, rng: np.random.Generator) -> product.Kind:
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
        reels = {
            "same reel": (name, make),
            "other reel": (name, other_reel(kinds()[name], make, rng)),
            "other make": (name, None),
        }
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
