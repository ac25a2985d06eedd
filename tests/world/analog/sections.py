"""A cable cut across: its surfaces at one turn of the pairs, and matrices per metre averaged over their turns."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tests.world.analog.kinds import Kind
from tests.world.analog.panels import Array, Surface, circle, crowding, external_nh, maxwell_pf, oblong

REACH_MM = 20.0  # assumed: what a cable without a screen lies on, a grounded cylinder so far away
FOIL_OVER_COPPER = 1.28  # surface resistances go as the root of resistivities, 2.83 over 1.724
APART_MM = 0.01  # between insulations that touch
METAL_PANELS, COAT_PANELS, SHEATH_PANELS = 28, 40, 96
STATES = 24  # against 100: pair values to 0.3 %, pair to pair 2 %; twice the panels: 0.2 %
STEPS = (math.sqrt(2) - 1, math.sqrt(3) - 1, math.sqrt(5) - 2, math.sqrt(7) - 2)  # turns in unlike steps


def states(count: int, of: int) -> list[tuple[float, ...]]:
    """Return angles of each of `count` pairs in `of` states, spread evenly over half turns (Weyl's sequence)."""
    return [tuple(math.pi * ((0.5 + k) * step % 1.0) for step in STEPS[:count]) for k in range(of)]


def places_mm(kind: Kind, angles: Sequence[float]) -> list[tuple[float, float]]:
    """Return where the middle of each conductor is, x and y in mm; a foil round each pair: one pair alone."""
    half, full = (kind.coat_mm + APART_MM) / 2, kind.coat_mm + APART_MM
    if kind.layout == "row":
        return [((k - 3.5) * full, 0.0) for k in range(8)]
    if kind.layout == "quad":
        out = full / math.sqrt(2)
        return [(out, 0.0), (-out, 0.0), (0.0, out), (0.0, -out)]
    if kind.screen == "each":
        return [(half, 0.0), (-half, 0.0)]
    step = 2 * kind.coat_mm + 2 * APART_MM + kind.apart_mm
    count = len(kind.lays_mm)
    if kind.layout == "pairs in a row":
        middles = [((k - (count - 1) / 2) * step, 0.0) for k in range(count)]
    elif count == 2:
        middles = [(-step / 2, 0.0), (step / 2, 0.0)]
    else:
        middles = [(-step / 2, step / 2), (step / 2, step / 2), (step / 2, -step / 2), (-step / 2, -step / 2)]
    found = []
    for (x, y), angle in zip(middles, angles, strict=True):
        for side in (1, -1):
            found.append((x + side * half * math.cos(angle), y + side * half * math.sin(angle)))
    return found


def surfaces(kind: Kind, angles: Sequence[float], finer: float = 1.0) -> list[Surface]:
    """Return the surfaces of a cross-section; finer: so many times as many panels."""
    metal, coat, sheath = (round(finer * count) for count in (METAL_PANELS, COAT_PANELS, SHEATH_PANELS))
    found = []
    for number, (x, y) in enumerate(places_mm(kind, angles)):
        at = (x * 1e-3, y * 1e-3)
        found.append(Surface(circle(*at, kind.metal_mm * 5e-4, metal), number, kind.coat, kind.coat))
        if kind.coat != kind.fill:
            found.append(Surface(circle(*at, kind.coat_mm * 5e-4, coat), None, kind.coat, kind.fill))
    long_mm, round_mm = _core_mm(kind)
    inner = oblong(long_mm * 1e-3, round_mm * 1e-3, sheath)
    if kind.screen != "none":
        return [*found, Surface(inner, -1, kind.fill, kind.fill)]
    outer = oblong(long_mm * 1e-3, (round_mm + kind.sheath_mm) * 1e-3, sheath)
    found.append(Surface(inner, None, kind.fill, kind.sheath))
    found.append(Surface(outer, None, kind.sheath, 1.0))
    return [*found, Surface(circle(0.0, 0.0, REACH_MM * 1e-3, sheath), -1, 1.0, 1.0)]


def _core_mm(kind: Kind) -> tuple[float, float]:
    """Return half the straight part and the radius of what is round the wires."""
    full = kind.coat_mm + APART_MM
    if kind.layout == "row":
        return 3.5 * full, full / 2 + kind.clear_mm
    if kind.layout == "quad":
        return 0.0, full / math.sqrt(2) + full / 2 + kind.clear_mm
    if kind.screen == "each":
        return full / 2, full / 2 + kind.clear_mm
    step = 2 * full + kind.apart_mm
    if kind.layout == "pairs in a row":
        return 1.5 * step, full + kind.clear_mm
    if len(kind.lays_mm) == 2:
        return 0.0, step / 2 + full + kind.clear_mm
    return 0.0, step / math.sqrt(2) + full + kind.clear_mm


def _in_states(kind: Kind) -> list[tuple[float, ...]]:
    twisted = kind.layout.startswith("pairs") and kind.screen != "each"
    return states(len(kind.lays_mm), STATES) if twisted else [()]


def per_metre(kind: Kind, finer: float = 1.0, count: int | None = None) -> tuple[Array, Array]:
    """Return Maxwell's capacitances [pF/m] and external inductances [nH/m] per metre of sheath, to the reference.

    Means over the pairs' turns; then over which wire of a pair is which, since each takes the other's place within a
    turn; then times how much longer the wires are than the sheath. count: of states, None = STATES.
    """
    chosen = _in_states(kind)[:count]
    size = len(places_mm(kind, chosen[0]))
    c = sum((maxwell_pf(surfaces(kind, angles, finer), size) for angles in chosen), np.zeros((size, size)))
    nh = sum((external_nh(surfaces(kind, angles, finer), size) for angles in chosen), np.zeros((size, size)))
    c, nh = c / len(chosen), nh / len(chosen)
    if kind.screen == "each":
        c, nh = (np.kron(np.eye(len(kind.lays_mm)), one) for one in (c, nh))
    if kind.layout != "row":
        c, nh = _either_wire(c), _either_wire(nh)
    longer = np.sqrt(np.outer(kind.turns, kind.turns))
    return c * longer, nh * longer


def _either_wire(matrix: Array) -> Array:
    """Return the mean over exchanging the wires of every pair."""
    size = len(matrix)
    found = np.zeros_like(matrix)
    for a in range(0, size, 2):
        for b in range(0, size, 2):
            block = matrix[a : a + 2, b : b + 2]
            straight, crossed = (block[0, 0] + block[1, 1]) / 2, (block[0, 1] + block[1, 0]) / 2
            if a != b:
                straight = crossed = (straight + crossed) / 2
            found[a : a + 2, b : b + 2] = [[straight, crossed], [crossed, straight]]
    return found


def pair_crowding(kind: Kind) -> float:
    """Return what pair 0 (conductors 3 and 4 of a row) loses at high frequency over evenly spread current.

    Crowded on its wires, and lying on a foil of aluminium and on its neighbours too.
    """
    chosen = _in_states(kind)[0]
    one, other = (3, 4) if kind.layout == "row" else (0, 1)
    foil = 0.0 if kind.screen == "none" else FOIL_OVER_COPPER
    return crowding(surfaces(kind, chosen), one, other, len(places_mm(kind, chosen)), foil)


def changed(kind: Kind) -> dict[str, Kind]:
    """Return the kind as it is, and with one thing changed: what makes differ in."""
    return {
        "base": kind,
        "permittivity": replace(kind, coat=1 + (kind.coat - 1) * 1.05, fill=1 + (kind.fill - 1) * 1.05),
        "coat": replace(kind, coat_mm=kind.coat_mm * 1.03),
        "clear": replace(kind, clear_mm=kind.clear_mm + 0.05),
    }
