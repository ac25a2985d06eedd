"""Lengths of cables of the analog world: how often the 95 % interval holds the truth, and how wide it is.

Twelve kinds, each of many makes; the product is told nothing, or the kind's name. Lengths are drawn evenly in their
logarithm from 0.15 to 95 m.
"""

import math
from collections import Counter, defaultdict

import numpy as np

from tests.world.analog import draw, measure
from wiremap.cable.patterns import pattern
from wiremap.judge.verdict import Options, judge
from wiremap.records.own_kinds import kind_called

# What the world calls a kind, and the name that a user would give (--kind).
NAMES = {
    "cat5e-uutp-24": "cat5e-utp",
    "cat6-uutp-23": "cat6-utp",
    "cat5e-futp-24": "cat5e-futp",
    "cord-uutp-26": "cord-utp",
    "cord-sfutp-26": "cord-sfutp",
    "slim-uutp-28": "slim-utp",
    "flat-pairs-30": "flat-pairs",
    "sftp-foam-23": "cat7-sftp",
    "sftp-foam-cord-26": "cat7-sftp-cord",
    "uftp-skin-23": "cat6a-uftp",
    "industrial-2x2-22": "industrial-2x2",
    "star-quad-22": "industrial-quad",
}
TWO_PAIRS = ("industrial-2x2-22", "star-quad-22")
SHORTEST_M, LONGEST_M, SURE_FROM_M, WIDE_FROM_M = 0.15, 95.0, 0.5, 3.0


def pattern_of(name: str) -> str:
    """Return the pattern that a cable of the world is made to."""
    return "straight-2pair" if name in TWO_PAIRS else "straight"


def _held(seed: int, count: int, trace: bool, told: bool, most: float) -> str:
    """Check coverage, width, and verdicts of sound cables, and say them; most: of half an interval from 3 m, median."""
    rng = np.random.default_rng(seed)
    held: defaultdict[str, list[bool]] = defaultdict(list)
    half: list[float] = []
    short: list[float] = []
    verdicts: Counter[str] = Counter()
    failed: list[str] = []
    for number in range(count):
        name = tuple(NAMES)[number % len(NAMES)]
        length_m = math.exp(rng.uniform(math.log(SHORTEST_M), math.log(LONGEST_M)))
        reading = measure(draw(name, length_m, rng), rng, trace=trace)
        found = judge(reading, pattern(pattern_of(name)), Options(kind=kind_called(NAMES[name]) if told else None))
        if found.verdict == "fail":
            failed.append(f"{name} {length_m:.2f} m: " + ", ".join(finding.fault for finding in found.findings))
        if length_m >= SURE_FROM_M:
            verdicts[found.verdict] += 1
        cable = found.lengths[-1] if found.lengths else None
        if cable is None:
            held[name].append(False)
            continue
        held[name].append(cable.low_m <= length_m <= cable.high_m)
        width = (cable.high_m - cable.low_m) / 2 / cable.length_m
        (half if length_m >= WIDE_FROM_M else short).append(width)
    every = float(np.mean([one for many in held.values() for one in many]))
    worst = min(held, key=lambda name: float(np.mean(held[name])))
    least = float(np.mean(held[worst]))
    passed = verdicts["pass"] / max(sum(verdicts.values()), 1)
    said = (
        f"{every:.3f} held, worst {worst} {least:.3f}; half {np.median(half):.3f} from 3 m, "
        f"{np.median(short):.3f} below; passed {passed:.3f} from 0.5 m, failed {len(failed)}: {failed[:3]}"
    )
    slack = 2 * math.sqrt(0.93 * 0.07 / count)
    each = 2 * math.sqrt(0.9 * 0.1 / (count / len(NAMES)))
    assert every >= 0.93 - slack, said
    assert least >= 0.90 - each, said
    assert float(np.median(half)) <= most, said
    assert not failed, said
    assert passed >= 0.97 - 2 * math.sqrt(0.03 * 0.97 / count), said
    return said


def kind_unknown(seed: int, count: int) -> str:
    """Lengths of cables nobody named, with reflections: 93 % held, 90 % of each kind, half at most 7 % from 3 m."""
    return _held(seed, count, True, False, 0.07)


def kind_unknown_without_trace(seed: int, count: int) -> str:
    """The same by capacitance and resistance alone: half an interval at most 10 %."""
    return _held(seed, count, False, False, 0.10)


def kind_told(seed: int, count: int) -> str:
    """Lengths of cables whose kind is named, with reflections: half an interval at most 5 %."""
    return _held(seed, count, True, True, 0.05)


def kind_told_without_trace(seed: int, count: int) -> str:
    """The same by capacitance and resistance alone: half an interval at most 8 %."""
    return _held(seed, count, False, True, 0.08)
