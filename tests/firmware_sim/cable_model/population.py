"""Many cables at once, each a little different: what a tester would measure of them, as arrays.

    cables = draw("UTP", np.full(10_000, 20.0), seed=1)       whole 8-conductor cables, far end open
    two_terminal_pf(cables, pin_pf=10.0)                      [cable][8][8]
    grounded_groups_pf(cables, pin_pf=10.0)                   single [cable][8], double [cable][8][8]
    pair_echoes(cables, pin_pf=8.0)                           arrival_s and height, [cable][4]
    loop_ohm(cables)                                          [cable][4]

Conductors are in matrix order, pairs 0-1, 2-3, 4-5, 6-7; a plug's order, and with it any split, is the caller's
indexing: `values[:, order][:, :, order]`. These are true values; `Spread` also says what a tester adds, and
`as_measured_pf` adds it. Every draw comes from `seed` alone. For faults, splices and echoes of split pairs there is
the full model (description, capacitance, echo); on sound cables the two agree (see the tests).
"""

import math
from dataclasses import dataclass

import numpy as np

from firmware_sim.cable_model.arrays import Complex, Matrix
from firmware_sim.cable_model.direct_current.copper import COPPER_PER_K, ohm_per_m
from firmware_sim.cable_model.fields.echo import (
    FAINTEST_ECHO,
    PRECURSOR,
    SETTLED_PART,
    SETTLED_S,
    Grid,
    frequencies,
    grid_for,
    in_time,
    times_s,
)
from firmware_sim.cable_model.fields.wire_impedance import dielectric_factor, ohm_per_m_at
from firmware_sim.cable_model.written.kinds import kinds

LIGHT_M_PER_S = 299_792_458.0
REFERENCE_HZ = 10e6  # where a velocity factor is stated
CABLES_AT_ONCE = 250


@dataclass(frozen=True, slots=True)
class Spread:
    """How far cables and testers differ; all assumptions. sd = relative standard deviation.

    nvp, pair_pf_per_m: whole cables lie evenly between the two (velocity factor at 10 MHz; pair to pair, open).
    pair_delay_sd, pair_capacitance_sd: of each pair about its cable. coupling_sd: of the direct capacitance
    between each two pairs. resistance, temperature_c: evenly between the two. contact_ohm: each of a loop's four
    contacts has this much, more or less by up to as much. gain_sd: common to all of a tester's capacitances.
    jack_pf, jack_sd: neighbours and next neighbours in the jack beyond the open socket's.
    """

    nvp: tuple[float, float] = (0.64, 0.70)
    pair_pf_per_m: tuple[float, float] = (46.0, 52.0)
    pair_delay_sd: float = 0.015
    pair_capacitance_sd: float = 0.02
    coupling_sd: float = 0.25
    resistance: tuple[float, float] = (0.96, 1.04)
    temperature_c: tuple[float, float] = (5.0, 35.0)
    contact_ohm: float = 0.015
    gain_sd: float = 0.02
    jack_pf: tuple[float, float] = (1.0, 0.3)
    jack_sd: float = 0.30


@dataclass(frozen=True)
class Cables:
    """Cables as arrays over [cable]; truth, not measurement.

    maxwell_pf: of the whole length, against screen or surroundings, [cable][8][8]. pair_h_per_m, pair_f_per_m: of
    each pair as a line, [cable][4]. wire_ohm: [cable][8]. nvp: of each pair at 10 MHz, lossless [cable][4].
    """

    kind: str
    length_m: Matrix
    maxwell_pf: Matrix
    pair_h_per_m: Matrix
    pair_f_per_m: Matrix
    wire_ohm: Matrix
    nvp: Matrix


def draw(kind: str, length_m: Matrix, seed: int, spread: Spread | None = None) -> Cables:
    """Return len(length_m) cables of one kind, drawn from `spread` (None = the usual one)."""
    usual = spread or Spread()
    rng = np.random.default_rng(seed)
    made = kinds()[kind]
    count, pairs = len(length_m), len(made.pairs)
    table = np.array(made.c_pf_per_m)
    between = np.broadcast_to(-table, (count, 2 * pairs, 2 * pairs)).copy()
    own = np.broadcast_to(table.sum(axis=1), (count, 2 * pairs)).copy()
    index = np.arange(2 * pairs)
    between[:, index, index] = 0.0

    # Couplings between pairs: one factor for each two pairs, so that a pair's two wires stay alike.
    coupling = np.ones((count, pairs, pairs))
    for p, q in zip(*np.triu_indices(pairs, 1), strict=True):
        coupling[:, p, q] = coupling[:, q, p] = np.maximum(1 + usual.coupling_sd * rng.standard_normal(count), 0.1)
    between *= np.repeat(np.repeat(coupling, 2, axis=1), 2, axis=2)

    # The whole cable and each pair are then brought to the capacitance drawn for them.
    wanted = rng.uniform(*usual.pair_pf_per_m, count)[:, None]
    wanted = wanted * (1 + usual.pair_capacitance_sd * rng.standard_normal((count, pairs)))
    even = np.arange(0, 2 * pairs, 2)
    nominal = (table[even, even] - table[even, even + 1]) / 2
    stretch = np.repeat(wanted / nominal, 2, axis=1)
    root = np.sqrt(stretch)
    between *= root[:, :, None] * root[:, None, :]
    own *= stretch
    # What a wire has to all others and the reference counts half; the partner's part is what is left.
    between[:, even, even + 1] = between[:, even + 1, even] = 0.0
    rest = (own + between.sum(axis=2)).reshape(count, pairs, 2).mean(axis=2)
    between[:, even, even + 1] = between[:, even + 1, even] = np.maximum(wanted - rest / 2, 0.1)
    maxwell = -between
    maxwell[:, index, index] = own + between.sum(axis=2)

    nvp = rng.uniform(*usual.nvp, count)[:, None] * (1 + usual.pair_delay_sd * rng.standard_normal((count, pairs)))
    farad = (maxwell[:, even, even] - maxwell[:, even, even + 1]) / 2 * 1e-12
    henry = _henry_for(nvp, farad, made.awg)
    warm = 1 + COPPER_PER_K * (rng.uniform(*usual.temperature_c, count) - 20.0)
    per_m = ohm_per_m(made.awg) * np.array(made.helix) * (rng.uniform(*usual.resistance, count) * warm)[:, None]
    contacts = rng.uniform(-usual.contact_ohm, usual.contact_ohm, (count, 2 * pairs, 2)).sum(axis=2)
    return Cables(
        kind,
        np.asarray(length_m, float),
        maxwell * length_m[:, None, None],
        henry,
        farad,
        np.maximum(per_m * length_m[:, None] + 2 * usual.contact_ohm + contacts, 0.0),
        nvp,
    )


def _henry_for(nvp: Matrix, farad: Matrix, awg: int) -> Matrix:
    """Return the inductance that gives a lossy pair its velocity factor at REFERENCE_HZ, by fixed point."""
    omega = np.array([2 * math.pi * REFERENCE_HZ])
    inner = 2 * ohm_per_m_at(1j * omega + 1e-3, ohm_per_m(awg), awg)[0]
    wanted = omega[0] / (nvp * LIGHT_M_PER_S)
    henry: Matrix = wanted**2 / omega[0] ** 2 / farad
    for _ in range(20):
        beta = np.sqrt((inner + 1j * omega[0] * henry) * 1j * omega[0] * farad).imag
        henry = henry * (wanted / beta) ** 2
    return henry


def two_terminal_pf(cables: Cables, pin_pf: float, stray_pf: float = 20.0, tied: bool = False) -> Matrix:
    """Return [cable][driven][low], pF, others floating, pins included; tied: screen or surroundings low too.

    NaN on the diagonal. With K the inverse of the whole network's matrix against the tester's ground, holding
    conductor j low leaves 1 / (K_ii - K_ij K_ji / K_jj) between i and ground.
    """
    maxwell = cables.maxwell_pf
    n = maxwell.shape[-1]
    index = np.arange(n)
    network = np.zeros((len(maxwell), n + 1, n + 1))
    network[:, :n, :n] = maxwell
    network[:, index, index] += pin_pf
    if tied:
        network = network[:, :n, :n]
    else:
        own = maxwell.sum(axis=2)
        network[:, :n, n] = network[:, n, :n] = -own
        network[:, n, n] = own.sum(axis=1) + stray_pf
    k = np.linalg.inv(network)[:, :n, :n]
    diagonal = k[:, index, index]
    apart = diagonal[:, :, None] - k**2 / diagonal[:, None, :]
    apart[:, index, index] = np.nan
    shown: Matrix = 1 / apart
    return shown


def grounded_groups_pf(
    cables: Cables, pin_pf: float, stray_pf: float = 20.0, tied: bool = True
) -> tuple[Matrix, Matrix]:
    """Return single [cable][8] and double [cable][8][8], pF, others low, pins included; tied: screen low as well.

    Not tied, the reference floats on stray_pf. double's diagonal is single.
    """
    held = cables.maxwell_pf.copy()
    n = held.shape[-1]
    index = np.arange(n)
    if not tied:
        own = held.sum(axis=2)
        held -= own[:, :, None] * own[:, None, :] / (own.sum(axis=1) + stray_pf)[:, None, None]
    held[:, index, index] += pin_pf
    single = held[:, index, index]
    double = single[:, :, None] + single[:, None, :] + 2 * held
    double[:, index, index] = single
    return single, double


def as_measured_pf(true_pf: Matrix, seed: int, sigma_pf: float, spread: Spread | None = None) -> Matrix:
    """Return two-terminal values as read, open socket taken off or not: a gain common to each cable, and noise.

    true_pf: [cable][8][8] in plug order. Noise of sigma_pf is drawn once for each two contacts.
    """
    usual = spread or Spread()
    rng = np.random.default_rng(seed)
    gain = 1 + usual.gain_sd * rng.standard_normal(len(true_pf))
    noise = np.triu(sigma_pf * rng.standard_normal(true_pf.shape), 1)
    read: Matrix = true_pf * gain[:, None, None] + noise + noise.swapaxes(1, 2)
    return read


def jack_pf(count: int, seed: int, contacts: int = 8, spread: Spread | None = None) -> Matrix:
    """Return what plug and jack add between contacts in plug order, [cable][contact][contact], pF."""
    usual = spread or Spread()
    rng = np.random.default_rng(seed)
    added = np.zeros((count, contacts, contacts))
    for step, pf in enumerate(usual.jack_pf, 1):
        for i in range(contacts - step):
            value = pf * np.maximum(1 + usual.jack_sd * rng.standard_normal(count), 0.0)
            added[:, i, i + step] = added[:, i + step, i] = value
    return added


def loop_ohm(cables: Cables) -> Matrix:
    """Return each pair's loop, out on one wire and back on the other, contacts included, [cable][pair]."""
    loop: Matrix = cables.wire_ohm[:, 0::2] + cables.wire_ohm[:, 1::2]
    return loop


def pair_echoes(
    cables: Cables, pin_pf: float, far_pin_pf: float = 0.0, drive_ohm: float = 50.0, grid: Grid | None = None
) -> tuple[Matrix, Matrix]:
    """Return arrival_s and height of each pair's first echo, far end open, [cable][pair]; as echo.first_echo's.

    A sound pair's differential mode is a line of its own, so each is one lossy line. far_pin_pf: of each far
    contact, 0 = hanging free. grid None: one that fits the longest cable here.
    """
    used = grid or grid_for(float(cables.length_m.max()))
    arrivals, heights = np.empty((2, *cables.nvp.shape))
    for start in range(0, len(cables.length_m), CABLES_AT_ONCE):
        rows = slice(start, start + CABLES_AT_ONCE)
        transfer = _transfer(cables, rows, pin_pf, far_pin_pf, drive_ohm, frequencies(used))
        shape = transfer.shape[:2]
        echo = in_time(transfer, used).reshape(-1, used.count)
        arrival, height = first_echoes(echo, used)
        arrivals[rows], heights[rows] = arrival.reshape(shape), height.reshape(shape)
    return arrivals, heights


def _transfer(cables: Cables, rows: slice, pin_pf: float, far_pin_pf: float, drive_ohm: float, s: Complex) -> Complex:
    """Return (V_a - V_b) / V_step less that of an endless pair, [cable][pair][f]."""
    made = kinds()[cables.kind]
    length_m = cables.length_m[rows, None, None]
    metre = (cables.wire_ohm[rows, 0::2] + cables.wire_ohm[rows, 1::2])[:, :, None] / 2 / length_m
    shape = ohm_per_m_at(s, ohm_per_m(made.awg), made.awg) / ohm_per_m(made.awg)
    series = 2 * metre * shape + s * cables.pair_h_per_m[rows, :, None]
    shunt = s * dielectric_factor(s) * cables.pair_f_per_m[rows, :, None]
    gamma, z0 = np.sqrt(series * shunt), np.sqrt(series / shunt)
    far = s * far_pin_pf * 1e-12 / 2
    returned = (1 / z0 - far) / (1 / z0 + far) * np.exp(-2 * gamma * length_m)
    pins = s * pin_pf * 1e-12 / 2
    whole = (1 - returned) / (1 + returned) / z0 + pins
    endless = 1 / z0 + pins
    transfer: Complex = 1 / (1 + 2 * drive_ohm * whole) - 1 / (1 + 2 * drive_ohm * endless)
    return transfer


def first_echoes(echo: Matrix, grid: Grid) -> tuple[Matrix, Matrix]:
    """Return arrival (s) and height of the first rising echo in each row of echo [row][count]; NaN = none."""
    times = times_s(grid)
    highest = echo.max(axis=1)
    row = np.arange(len(echo))
    arrival = times[np.argmax(echo > PRECURSOR * highest[:, None], axis=1)]
    plateau = np.zeros(len(echo))
    for _ in range(40):
        settled = arrival + np.minimum(SETTLED_S, SETTLED_PART * np.maximum(arrival, 0.0))
        place = np.clip((settled - times[0]) / grid.step_s, 0, grid.count - 2)
        below = place.astype(int)
        part = place - below
        plateau = echo[row, below] * (1 - part) + echo[row, below + 1] * part
        after = np.maximum(np.argmax(echo > plateau[:, None] / 2, axis=1), 1)
        low, high = echo[row, after - 1], echo[row, after]
        passed = times[after - 1] + (plateau / 2 - low) / np.where(high > low, high - low, 1.0) * grid.step_s
        if np.abs(passed - arrival).max() < 1e-14:
            break
        arrival = passed
    nothing = plateau < FAINTEST_ECHO
    return np.where(nothing, np.nan, arrival), np.where(nothing, np.nan, plateau)
