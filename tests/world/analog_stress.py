"""Lengths where the world is not as the product takes it: short, cold, hot, of another insulation, wet.

What is asked of the twelve kinds is not asked here; each check says its numbers, and asserts what may be relied on.
"""

import math
from dataclasses import replace

import numpy as np

from tests.world.analog import Cable, Wet, draw, kinds, line, measure, reel
from tests.world.analog_lengths import NAMES, SHORTEST_M, Draw, Tally, at_least, pattern_of, tried
from wiremap.cable.patterns import pattern
from wiremap.judge.verdict import judge
from wiremap.report.words.measurements import kind_sentence

WET = "wet-or-wrong-cable"
WET_SHORTEST_M, WET_LONGEST_M, PLUG_M = 3.0, 90.0, 0.7
WET_TENTH = 1.13  # what the page says that a flooded tenth adds
FACTORS = (1.6, 2.3)  # of the capacitance of what is wet; the second is flooded


def short_leads(seed: int, count: int) -> str:
    """Leads from 0.15 to 1 m, kind unknown, with reflections and without, and kind told: 93 % held, the widths said."""
    ways = (("trace", True, False), ("no trace", False, False), ("told, no trace", False, True))
    found = {way: tried(seed, count, trace=trace, told=told, between_m=(SHORTEST_M, 1.0)) for way, trace, told in ways}
    said = "; ".join(
        f"{way}: {seen.every:.3f} held, worst {seen.worst[0]} {seen.worst[1]:.3f}, half "
        + ", ".join(
            f"{np.median([width for length, width in seen.short if 0.8 < length / at < 1.25]):.3f} at {at:g} m"
            for at in (0.2, 0.4, 0.8)
        )
        for way, seen in found.items()
    )
    for seen in found.values():
        assert seen.every >= at_least(0.93, count), said
        assert seen.worst[1] >= at_least(0.90, count / len(NAMES)), said
        assert not seen.failed, said
    return said


def in_weather(celsius: tuple[float, ...]) -> Draw:
    """Return how cables are drawn that are as cold or warm as one of these."""

    def drawn(name: str, length_m: float, rng: np.random.Generator) -> Cable:
        return draw(name, length_m, rng, temperature_c=float(rng.choice(celsius)))

    return drawn


def cold_and_hot(seed: int, count: int) -> str:
    """Cables of -10 C and of 60 C, which nobody told: by trace and without, told and not; 85 % at the least."""
    found = []
    for celsius in (-10.0, 60.0):
        for trace, told in ((True, False), (False, False), (False, True)):
            seen = tried(seed, count, in_weather((celsius,)), trace=trace, told=told)
            way = f"{celsius:g} C{'' if trace else ', no trace'}{', told' if told else ''}"
            found.append((seen, f"{way}: {seen.every:.3f} held, half {seen.usual_half:.3f}"))
    said = "; ".join(one for _, one in found)
    assert all(seen.every >= at_least(0.85, count) and not seen.failed for seen, _ in found), said
    return said


def of_permittivity(factor: float) -> Draw:
    """Return how cables are drawn whose insulation has so many times the permittivity that a make of their kind has."""

    def drawn(name: str, length_m: float, rng: np.random.Generator) -> Cable:
        made = reel(kinds()[name], "copper", rng)
        other = replace(made, pf=made.pf * factor, to_reference_pf=made.to_reference_pf * factor)
        return draw(name, length_m, rng, of=other)

    return drawn


def permittivity(seed: int, count: int) -> str:
    """Insulation of a tenth more and a tenth less permittivity than the table's makes have: half may be missed."""
    found = []
    for factor in (1.1, 1 / 1.1):
        for trace in (True, False):
            seen = tried(seed, count, of_permittivity(factor), trace=trace, between_m=(WET_SHORTEST_M, 95.0))
            way = f"x {factor:.2f}{'' if trace else ', no trace'}"
            found.append(
                (seen, f"{way}: {seen.every:.3f} held, off {np.median(seen.off):+.3f}, half {seen.usual_half:.3f}")
            )
    said = "; ".join(one for _, one in found)
    assert all(seen.every >= 0.5 and not seen.failed for seen, _ in found), said
    return said


def _wet(seed: int, count: int, part: float, trace: bool) -> tuple[Tally, int, list[bool], list[bool]]:
    """Return lengths of cables with water in so much of them; how many were called wet; of those with the water

    beyond the plug whether each was; and whether the length was within its interval or as much shorter as is said.
    """
    rng = np.random.default_rng(seed)
    seen, called, beyond, within = Tally(), 0, [], []
    for number in range(count):
        name = tuple(NAMES)[number % len(NAMES)]
        length_m = math.exp(rng.uniform(math.log(WET_SHORTEST_M), math.log(WET_LONGEST_M)))
        water = Wet(rng.uniform(0.0, 1.0 - part) * length_m, part * length_m, FACTORS[number // len(NAMES) % 2])
        found = judge(measure(draw(name, length_m, rng, wet=water), rng, trace=trace), pattern(pattern_of(name)))
        seen.look(name, length_m, found)
        wet = any(one.fault == WET for one in found.findings)
        called += wet
        if water.start_m > PLUG_M:
            beyond.append(wet)
        cable = found.lengths[-1]
        within.append(cable.low_m / WET_TENTH <= length_m <= cable.high_m)
    return seen, called, beyond, within


def wet_with_trace(seed: int, count: int) -> str:
    """Water in a tenth to four tenths: found in 93 % where it is beyond the plug, and the interval holds 93 %."""
    said, sound = [], True
    for part in (0.1, 0.2, 0.4):
        seen, called, beyond, _ = _wet(seed, count, part, True)
        said.append(
            f"{part:g} wet: {called} of {count} found, {np.mean(beyond):.3f} of those beyond the plug; "
            f"{seen.every:.3f} held, half {seen.usual_half:.3f}"
        )
        sound &= bool(np.mean(beyond) >= at_least(0.93, len(beyond))) and seen.every >= at_least(0.93, count)
    assert sound, "; ".join(said)
    return "; ".join(said)


def wet_without_trace(seed: int, count: int) -> str:
    """Water in a tenth, without reflections: not seen, and the length as much too long as the page says, 93 %."""
    said = []
    for part in (0.1, 0.2, 0.4):
        seen, called, _, within = _wet(seed, count, part, False)
        said.append(
            f"{part:g} wet: {called} of {count} found, {seen.every:.3f} held, off {np.median(seen.off):+.3f}, "
            f"{np.mean(within):.3f} within what is said of a tenth"
        )
        if part <= 0.1:
            assert np.mean(within) >= at_least(0.93, count), said
    return "; ".join(said)


def dry(seed: int, count: int) -> str:
    """No dry cable is called wet, be it as rough as twice what is assumed."""
    rng = np.random.default_rng(seed)
    for number in range(count):
        name = tuple(NAMES)[number % len(NAMES)]
        length_m = math.exp(rng.uniform(0.0, math.log(WET_LONGEST_M)))
        cable = draw(name, length_m, rng, roughness=(0.01, 0.02)[number // len(NAMES) % 2])
        found = judge(measure(cable, rng), pattern(pattern_of(name)))
        assert not [one for one in found.findings if one.fault == WET], (name, length_m)
    return f"none of {count} dry cables called wet"


def kinds_said(seed: int, count: int) -> str:
    """What is said of the kind is true: 90 % of the cables are among those listed, and 93 % as fast as is said.

    A page that names kinds without "others" names the cable's own.
    """
    rng = np.random.default_rng(seed)
    listed, fast, left_out = [], [], 0
    for number in range(count):
        name = tuple(NAMES)[number % len(NAMES)]
        length_m = math.exp(rng.uniform(math.log(0.5), math.log(95.0)))
        cable = draw(name, length_m, rng)
        kind = judge(measure(cable, rng, trace=number % 2 == 0), pattern(pattern_of(name))).kind
        assert kind is not None
        known = [one.name for one in kind.likely]
        listed.append(NAMES[name] in known)
        speed = float(np.mean([line(cable, *pair)[1] for pair in (("1", "2"), ("3", "6"))]))
        fast.append(abs(speed - kind.nvp) <= 1.96 * kind.nvp_u)
        sentence = kind_sentence(kind)
        left_out += "others" not in sentence and NAMES[name] not in sentence
    said = (
        f"{np.mean(listed):.3f} listed, {np.mean(fast):.3f} as fast as said, {left_out} of {count} named as other kinds"
    )
    assert np.mean(listed) >= at_least(0.90, count), said
    assert np.mean(fast) >= at_least(0.93, count), said
    assert left_out <= 0.10 * count, said
    return said
