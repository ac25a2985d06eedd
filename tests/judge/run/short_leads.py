"""Short leads, as racks are full of them: what is said of them, over many."""

import math

import numpy as np

from tests.judge.simulated import described, measured_reading
from wiremap.cable.patterns import pattern
from wiremap.judge.verdict import judge

SHORTEST_M, LONGEST_M = 0.05, 0.6
ABLE = ((True, True), (True, False), (False, True), (False, False))  # (traces, counted echoes) a tester offers


def short_leads(seed: int, count: int) -> str:
    """Check that of sound leads of 0.05 to 0.6 m none fails, and at most one length interval in twenty is wrong.

    Leads are unscreened and screened in turn, testers offer traces and counted echoes, one of them, or neither.
    """
    rng = np.random.default_rng(seed)
    straight = pattern("straight")
    failed, wrong, given, short = 0, 0, 0, 0
    for number in range(count):
        length_m = math.exp(rng.uniform(math.log(SHORTEST_M), math.log(LONGEST_M)))
        traces, echoes = ABLE[number // 2 % 4]
        cable = described(length_m, kind=("UTP", "F/UTP")[number % 2], near=("T568A", "T568B")[number // 8 % 2])
        reading = measured_reading(cable, seed=seed + number, traces=traces, echoes=echoes)
        said = judge(reading, straight)
        failed += said.verdict != "pass"
        whole = [one for one in said.lengths if one.pair is None and one.method == "fused"]
        if whole:
            given += 1
            wrong += not whole[0].low_m <= length_m <= whole[0].high_m
        short += any((item.what, item.why) == ("split-pairs", "too-short") for item in said.not_checked)
    assert failed == 0, f"{failed} of {count} sound leads do not pass"
    assert wrong <= 0.05 * given, f"{wrong} of {given} intervals do not hold the length"
    assert short, "no lead was too short for its pairs"
    return f"{count} leads, {given} lengths, {wrong} intervals wrong, {short} too short for pairs"
