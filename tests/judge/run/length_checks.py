"""Lengths of many simulated cables: how often the 95 % interval holds the true length."""

import math

import numpy as np

from firmware_sim.cable_model.fields.echo import FULL, Grid
from tests.firmware_sim.cable_model.population import Spread, draw, pair_echoes
from tests.judge.simulated import PAIRS, lot
from wiremap.cable.limits import limits
from wiremap.cable.patterns import pattern
from wiremap.judge.run.capacitance import groups
from wiremap.judge.run.length.estimate import estimate_run
from wiremap.judge.wiring.laid_reading import lay_reading

STRAIGHT = pattern("straight")
COARSE = Grid(0.5e-9, 4096)
SHORTEST_M, LONGEST_M = 1.5, 95.0
WIDER = Spread(nvp=(0.625, 0.715), pair_pf_per_m=(44.5, 53.5), pair_delay_sd=0.0225, pair_capacitance_sd=0.03)


def held(seed: int, count: int, spread: Spread | None = None) -> dict[str, list[bool]]:
    """Return for each method, and fused, whether the interval of each cable holds the true length.

    "pair": of one pair, each in turn; "cable": of every fourth cable as the mean of its four pairs.
    """
    rng = np.random.default_rng(seed)
    length_m = np.exp(rng.uniform(math.log(SHORTEST_M), math.log(LONGEST_M), count))
    hits: dict[str, list[bool]] = {}
    for start in range(0, count, 500):
        part = length_m[start : start + 500]
        made = lot(("UTP", "F/UTP")[(start // 500) % 2], part, seed + start, spread, COARSE)
        for number, (true_m, reading) in enumerate(zip(part.tolist(), made.readings, strict=True)):
            whole = number % 4 == 0
            pairs = PAIRS if whole else (PAIRS[number // 4 % 4],)
            laid = lay_reading(reading, STRAIGHT, limits())
            for one in estimate_run(laid, [(pair, pair) for pair in pairs], groups(laid)).lengths:
                if one.pair == PAIRS[number // 4 % 4] or (whole and one.pair is None):
                    name = f"{'cable' if one.pair is None else 'pair'} {one.method}"
                    hits.setdefault(name, []).append(one.low_m <= true_m <= one.high_m)
    return hits


def interval_honesty(seed: int, count: int) -> str:
    """Check that the 95 % interval of every method, and fused, holds the true length in at least 94 % of cables.

    These are cables of one make among all that a kind may be, so that the intervals hold more of them than 95 %. Where
    fewer than 5000 cables were tried, two standard errors of the share are allowed beside.
    """
    said, outside = [], []
    for name, hits in held(seed, count).items():
        share, slack = float(np.mean(hits)), 0.0 if len(hits) >= 5000 else 2 * math.sqrt(0.95 * 0.05 / len(hits))
        said.append(f"{name} {share:.4f} of {len(hits)}")
        if share < 0.94 - slack:
            outside.append(name)
    assert not outside, "; ".join(said)
    return "; ".join(said)


def wider_spread(seed: int, count: int) -> str:
    """Say how often intervals hold when velocity, capacitance and skew stray one and a half times as assumed."""
    shares = {name: float(np.mean(hits)) for name, hits in held(seed, count, WIDER).items()}
    assert all(share > 0.93 for share in shares.values()), shares
    return ", ".join(f"{name} {share:.4f}" for name, share in shares.items())


def grids_agree(seed: int, count: int) -> str:
    """Check arrivals on the coarse grid of many cables against the full one: within 10 ps, 1 mm of length."""
    rng = np.random.default_rng(seed)
    length_m = np.exp(rng.uniform(math.log(SHORTEST_M), math.log(LONGEST_M), count))
    cables = draw("UTP", length_m, seed)
    full, _ = pair_echoes(cables, 10.0, 10.0, grid=FULL)
    coarse, _ = pair_echoes(cables, 10.0, 10.0, grid=COARSE)
    apart_ps = float(np.abs(full - coarse).max()) * 1e12
    assert apart_ps < 10.0
    return f"largest difference {apart_ps:.3f} ps over {count} cables"
