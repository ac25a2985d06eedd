"""Copper-clad cables of the analog world: found where the kind is told, nobody accused where it is not."""

import math

import numpy as np

from tests.world.analog import draw, measure
from tests.world.analog_lengths import NAMES, pattern_of
from wiremap.cable.patterns import pattern
from wiremap.judge.verdict import Options, judge
from wiremap.records.own_kinds import kind_called
from wiremap.report.words.measurements import kind_sentence

SHORTEST_M, JUDGED_FROM_M, LONGEST_M = 0.3, 10.0, 95.0


def metal(seed: int, count: int) -> str:
    """Copper and copper-clad by turns, -10 to 60 C: told, 95 % of clad found from 10 m and 0.5 % of copper accused.

    Untold no conductor is accused, clad or not; of nine remarks in ten that it may be either, one of both is the truth.
    """
    rng = np.random.default_rng(seed)
    found = clad = copper = 0
    accused: list[str] = []
    untold: list[str] = []
    remarks: list[bool] = []
    for number in range(count):
        name = tuple(NAMES)[number % len(NAMES)]
        is_clad = number // len(NAMES) % 2 == 1
        shortest = JUDGED_FROM_M if is_clad else SHORTEST_M
        length_m = math.exp(rng.uniform(math.log(shortest), math.log(LONGEST_M)))
        cable = draw(name, length_m, rng, metal="clad" if is_clad else "copper")
        reading = measure(cable, rng, trace=False)
        asked = pattern(pattern_of(name))
        told = judge(reading, asked, Options(kind=kind_called(NAMES[name])))
        said = any(finding.fault == "conductor-metal" for finding in told.findings)
        nobody_told = judge(reading, asked)
        if any(finding.fault == "conductor-metal" for finding in nobody_told.findings):
            untold.append(f"{name} {length_m:.1f} m")
        like = nobody_told.kind
        if like is not None and like.copper_awg is not None:
            words = f"Resistance like copper of AWG {like.copper_awg}, or copper-clad of AWG {like.clad_awg}."
            assert words in kind_sentence(like)
            remarks.append((like.clad_awg if is_clad else like.copper_awg) == int(name.rsplit("-", 1)[1]))
        clad, copper = clad + is_clad, copper + (not is_clad)
        found += said and is_clad
        if said and not is_clad:
            accused.append(f"{name} {length_m:.1f} m, {cable.temperature_c:.0f} C")
    said_of_all = (
        f"{found} of {clad} clad found; {len(accused)} of {copper} copper accused: {accused[:3]}; {untold[:3]}; "
        f"remarked without a kind on {len(remarks)}, truly of {sum(remarks)}"
    )
    assert found >= 0.95 * clad - 2 * math.sqrt(0.05 * 0.95 * clad), said_of_all
    assert len(accused) <= 0.005 * copper + 2 * math.sqrt(0.005 * copper), said_of_all
    assert not untold, said_of_all
    assert sum(remarks) >= 0.9 * len(remarks) - 2 * math.sqrt(0.09 * len(remarks)), said_of_all
    assert len(remarks) > count / 4, said_of_all
    return said_of_all
