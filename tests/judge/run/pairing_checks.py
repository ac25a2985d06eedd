"""Pairing tried on many simulated cables: error rates over length, noise and contacts, and the best matching."""

import itertools
import math
from dataclasses import dataclass
from typing import Any

import networkx
import numpy as np
from msgspec.structs import replace
from scipy.stats import beta

from tests.firmware_sim.cable_model.population import Cables, draw, grounded_groups_pf, jack_pf
from tests.judge.run.stacked import best_matchings
from wiremap.cable.limits import limits
from wiremap.cable.patterns import Pattern, pattern
from wiremap.judge.measurements import Pairing
from wiremap.judge.run.capacitance import Groups
from wiremap.judge.run.network import Array, two_terminal
from wiremap.judge.run.pairing.matching import matchings
from wiremap.judge.run.pairing.pairing import pairing_of

# Where the conductors of the four pairs stand in the plug: three pairs three contacts apart, one side by side; what
# plug and jack add lies between conductors of different pairs. The worst order has every pair four contacts apart.
USUAL = (0, 3, 1, 4, 2, 5, 6, 7)
WORST = (0, 4, 1, 5, 2, 6, 3, 7)
GAIN_SD = 0.02
NOISE_ALONE = replace(  # no plugs, no makes that differ, nothing that is too short
    limits(),
    plug_next_pf=0.0,
    plug_second_pf=0.0,
    plug_next_u_pf=1e-9,
    plug_second_u_pf=1e-9,
    pairing_uneven=0.0,
    pairing_refined=1e9,
    pairing_least_pf=-1e9,
    pairing_likely_m=0.0,
    row_conductors=99.0,
)
PIN_SD = 0.1


@dataclass(frozen=True)
class Cell:
    """One cell of the table: an independent computation (numpy, enumeration) found `published` of `published_of`."""

    kind: str
    method: str
    length_m: float
    sigma_pf: float
    published: float
    published_of: int
    pin_pf: float = 0.0
    tied: bool = False


def _row(kind: str, method: str, sigma_pf: float, rates: str, of: int = 4000, **more: float | bool) -> list[Cell]:
    lengths = (0.3, 0.5, 1.0, 2.0, 5.0) if of == 600 else (0.1, 0.2, 0.3, 0.5, 0.75, 1.0, 20.0)
    return [
        Cell(kind, method, length_m, sigma_pf, float(rate), of, float(more.get("pin_pf", 0.0)), bool(more.get("tied")))
        for length_m, rate in zip(lengths, rates.split(), strict=True)
    ]


CELLS = (
    *_row("UTP", "two_terminal", 0.5, ".0385 0 0 0 0 0 0"),
    *_row("UTP", "two_terminal", 1.0, ".347 .0032 0 0 0 0 0"),
    *_row("UTP", "two_terminal", 2.0, ".779 .196 .015 0 0 0 0"),
    *_row("F/UTP", "two_terminal", 0.5, ".331 .0003 0 0 0 0 0"),
    *_row("F/UTP", "two_terminal", 1.0, ".694 .0587 .0015 0 0 0 0"),
    *_row("F/UTP", "two_terminal", 2.0, ".910 .526 .140 .0008 0 0 0"),
    *_row("UTP", "direct", 1.0, ".001 0 0 0 0 0 0"),
    *_row("UTP", "direct", 2.0, ".095 0 0 0 0 0 0"),
    *_row("F/UTP", "direct", 1.0, ".019 0 0 0 0 0 0"),
    *_row("F/UTP", "direct", 2.0, ".306 .0013 0 0 0 0 0"),
    *_row("UTP", "two_terminal", 1.0, ".035 0 0 0 0", 600, pin_pf=10.0),
    *_row("UTP", "two_terminal", 1.0, ".058 0 0 0 0", 600, pin_pf=10.0, tied=True),
    *_row("UTP", "two_terminal", 1.0, ".77 .21 0 0 0", 600, pin_pf=30.0),
    *_row("UTP", "two_terminal", 1.0, ".74 .21 0 0 0", 600, pin_pf=30.0, tied=True),
    *_row("F/UTP", "two_terminal", 1.0, ".33 .003 0 0 0", 600, pin_pf=10.0),
    *_row("F/UTP", "two_terminal", 1.0, ".55 .075 0 0 0", 600, pin_pf=10.0, tied=True),
    *_row("F/UTP", "two_terminal", 1.0, ".90 .47 0 0 0", 600, pin_pf=30.0),
    *_row("F/UTP", "two_terminal", 1.0, ".90 .65 .057 0 0", 600, pin_pf=30.0, tied=True),
)


def _in_plug(values: Array, order: tuple[int, ...]) -> Array:
    """Return matrices over conductors [.., 8, 8] in contact order, conductor k being at contact order[k]."""
    at = np.argsort(order)
    return values[..., at[:, None], at[None, :]]


def _with_jacks(cables: Cables, order: tuple[int, ...], seed: int) -> Cables:
    """Return the cables with what plug and jack add between contacts, in contact order."""
    maxwell = _in_plug(np.asarray(cables.maxwell_pf, dtype=np.float64), order)
    added = jack_pf(len(maxwell), seed)
    maxwell = maxwell + added.sum(axis=2)[..., None] * np.eye(8) - added
    return Cables(**{**vars(cables), "maxwell_pf": maxwell})


def _noise(shape: tuple[int, ...], sigma_pf: float, rng: np.random.Generator) -> Array:
    upper = np.triu(sigma_pf * rng.standard_normal(shape), 1)
    return np.asarray(upper + upper.swapaxes(1, 2), dtype=np.float64)


def weights(cell: Cell, count: int, seed: int, order: tuple[int, ...] = USUAL) -> Array:
    """Return what pairing weighs for `count` cables of a cell, [count, 8, 8]; what empty sockets show is taken off."""
    rng = np.random.default_rng(seed)
    cables = _with_jacks(draw(cell.kind, np.full(count, cell.length_m), seed), order, seed + 1)
    gain = (1 + GAIN_SD * rng.standard_normal(count))[:, None, None]
    noise = _noise((count, 8, 8), cell.sigma_pf, rng)
    if cell.method == "direct":
        single, double = grounded_groups_pf(cables, cell.pin_pf, tied=True)
        weight = (single[:, :, None] + single[:, None, :] - double * gain - noise) / 2
        noisy = cell.sigma_pf * rng.standard_normal((count, 8))
        weight += (noisy[:, :, None] + noisy[:, None, :]) / 2  # of the single values: the same in every pairing
    else:
        pins = np.full((count, 8), 1e-3)
        if cell.pin_pf:
            pins = cell.pin_pf * (1 + PIN_SD * rng.standard_normal((count, 8)))
        shown = two_terminal(
            np.asarray(cables.maxwell_pf, dtype=np.float64), pins, cell.tied, 20.0 if cell.pin_pf else 1e-3
        )
        weight = (shown + shown.swapaxes(1, 2)) / 2 * gain + noise
    return weight


def _true_pairing(order: tuple[int, ...]) -> int:
    pairs = sorted((min(pair), max(pair)) for pair in zip(order[0::2], order[1::2], strict=True))
    return matchings(8).index(tuple(pairs))


def _upper(rate: float, of: int) -> float:
    wrong = round(rate * of)
    return float(beta.ppf(0.95, wrong + 1, of - wrong))


def _lower(wrong: int, of: int) -> float:
    return 0.0 if wrong == 0 else float(beta.ppf(0.05, wrong, of - wrong + 1))


def error_rates(seed: int, count: int) -> str:
    """Check that no cell has more wrong pairings than published, nor any wrong one called confirmed.

    A cell fails when the lower one-sided 95 % bound of what is found is above the upper one of what is published.
    """
    lines, margins, mistakes = [""], [], []
    worse = []
    for cell in CELLS:
        weight = weights(cell, count, seed)
        sigma_pf = max(cell.sigma_pf / (2 if cell.method == "direct" else 1), 0.5)
        best, z = best_matchings(weight, sigma_pf)
        wrong = best != _true_pairing(USUAL)
        margins.append(z)
        mistakes.append(wrong)
        found = int(wrong.sum())
        kept = _lower(found, count) <= _upper(cell.published, cell.published_of)
        if not kept:
            worse.append(cell)
        lines.append(
            f"  {cell.kind:5} {cell.method:12} {cell.sigma_pf} pF, pins {cell.pin_pf:2.0f} pF, "
            f"{'screen on ground' if cell.tied else 'floating':16} {cell.length_m:5} m: {found / count:.4f} "
            f"(published {cell.published:.4f}) median z {float(np.median(z)):.1f}{'' if kept else ' WORSE'}"
        )
    assert not worse, "\n".join(lines)
    z, wrong = np.concatenate(margins), np.concatenate(mistakes)
    by_margin = []
    for low, high in itertools.pairwise((0.0, 0.5, 1.0, 2.0, 4.0, math.inf)):
        inside = (z >= low) & (z < high)
        by_margin.append(f"{low:g} to {high:g}: {int(wrong[inside].sum())} of {int(inside.sum())}")
    sure, likely = z >= 4, (z >= 2) & (z < 4)
    assert wrong[sure].sum() <= sure.sum() / 1000
    assert wrong[likely].sum() <= max(2.0, likely.sum() / 100)
    return f"wrong by margin {', '.join(by_margin)}" + "\n".join(lines)


def worst_order(seed: int, count: int) -> str:
    """Check that with every pair four contacts apart, too, no wrong pairing is confirmed, and say the error rates."""
    said, wrongly, confirmed = [], 0, 0
    for cell in CELLS:
        if cell.pin_pf or cell.length_m > 0.3:
            continue
        best, z = best_matchings(
            weights(cell, count, seed, WORST), max(cell.sigma_pf / (2 if cell.method == "direct" else 1), 0.5)
        )
        wrong = best != _true_pairing(WORST)
        confirmed += int((z >= 4).sum())
        wrongly += int((wrong & (z >= 4)).sum())
        said.append(f"{cell.kind} {cell.method} {cell.sigma_pf} pF {cell.length_m} m {float(wrong.mean()):.4f}")
    assert wrongly <= max(1, confirmed // 2000)
    return f"{wrongly} of {confirmed} confirmed wrong; " + "; ".join(said)


def same_as_networkx(seed: int, count: int) -> str:
    """Check the pairing of random capacitances, ties included, against networkx.max_weight_matching."""
    rng = np.random.default_rng(seed)
    for number in range(count):
        size = (5, 6, 7, 8)[number % 4]
        shown = rng.normal(100, 20, (size, size)) if number % 2 else rng.integers(100, 104, (size, size)).astype(float)
        shown = np.triu(shown, 1) + np.triu(shown, 1).T
        graph: Any = networkx.Graph()
        graph.add_weighted_edges_from((i, j, shown[i, j]) for i in range(size) for j in range(i))
        theirs = networkx.max_weight_matching(graph, maxcardinality=True)
        found = pairing_of(grouped(shown), without_pairs(size), NOISE_ALONE)
        assert isinstance(found, Pairing)
        mine = sum(shown[int(a) - 1, int(b) - 1] for a, b in found.pairs)
        assert np.isclose(mine, sum(shown[i, j] for i, j in theirs), rtol=1e-12, atol=1e-9)
    return f"{count} random cases of 5 to 8 conductors weigh the same"


def without_pairs(size: int) -> Pattern:
    """Return a straight pattern of so many conductors, of which none belong together."""
    names = tuple(str(contact) for contact in range(1, size + 1))
    return replace(pattern("straight"), conductors=tuple((name, name) for name in names), near_pairs=(), far_pairs=())


def grouped(shown: Array) -> Groups:
    """Return conductors "1", "2" ... that show these picofarads to each other by grounded groups, sigma 1 pF."""
    names = tuple((str(contact),) for contact in range(1, len(shown) + 1))
    return Groups(
        near=names,
        far=names,
        places=tuple((place,) for place in range(len(shown))),
        two_terminal_pf=None,
        direct_pf=tuple(map(tuple, shown.tolist())),
        single_pf=None,
        pin_pf=(10.0,) * len(shown),
        noise_pf=1.0,
        sigma_pf=1.0,
        direct_sigma_pf=1.0,
        screen_pf=(math.nan, math.nan),
        screen_tied=False,
        kind="UTP",
    )
