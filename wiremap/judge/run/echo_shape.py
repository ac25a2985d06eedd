"""What a pair does to a step on its way to the end and back: one lossy line, in closed form at each frequency.

Internal impedance of round conductors by Bessel functions (skin effect), raised by a factor for proximity; a
constant loss tangent. Times come from complex frequencies by a damped fast Fourier transform. The line's own
delay without loss is taken off first, so that what is left is the shape.
"""

import math
from functools import cache, lru_cache

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from wiremap.cable.materials import Materials
from wiremap.judge.run.network import Array

Complex = NDArray[np.complex128]
RISE_S = 3e-9  # of the tester's Gaussian step, 10 to 90 %
SIGMA_S = RISE_S / 2.563
REFERENCE_HZ = 10e6  # where a velocity factor is stated
STEP_S = 0.125e-9
SAMPLE_COUNT = 2048
BEFORE_S = 16e-9  # how much of the window lies before the undisturbed arrival
DAMPING = 16.0
MU_0 = 4e-7 * math.pi
FRACTION_TERMS = 80
LEAST_OHM_PER_M, MOST_OHM_PER_M = 0.03, 1.0  # of conductors whose echoes are worked out: AWG 20 to 35
PLATEAU_S = 11e-9  # an echo's first plateau is read so long after its middle ...
PLATEAU_PART = 0.7  # ... but no later than this part of its arrival, before the second round trip


class PairLine(Struct, frozen=True):
    """A metre of a pair: external inductance, capacitance, d.c. resistance of one conductor.

    proximity: by what factor the pair's nearness raises skin effect. loss_tangent: of the insulation.
    """

    henry_per_m: float
    farad_per_m: float
    ohm_per_m: float
    proximity: float
    loss_tangent: float

    @property
    def second_per_m(self) -> float:
        """Return the delay of a metre without loss."""
        return math.sqrt(self.henry_per_m * self.farad_per_m)


@lru_cache(maxsize=16)
def usual_pair(materials: Materials) -> PairLine:
    """Return the mean pair of the unscreened kind; between kinds the shape of an echo hardly differs."""
    kind = materials.kind("UTP")
    inductance, capacitance = np.array(kind.inductance_nh_per_m), np.array(kind.capacitance_pf_per_m)
    first = np.arange(0, len(inductance), 2)
    henry = 2 * (inductance[first, first] - inductance[first, first + 1]).mean() * 1e-9
    farad = (capacitance[first, first] - capacitance[first, first + 1]).mean() / 2 * 1e-12
    wires = materials.conductors
    ohm_per_m = materials.copper.ohm_per_m(wires.usual_awg) * wires.lay_factor
    return PairLine(float(henry), float(farad), ohm_per_m, materials.pair.proximity, materials.pair.loss_tangent)


def with_resistance(line: PairLine, ohm_per_m: float) -> PairLine:
    """Return a line with conductors of another resistance, to two figures, within what conductors of cables have."""
    bounded = min(max(ohm_per_m, LEAST_OHM_PER_M), MOST_OHM_PER_M)
    return replace(line, ohm_per_m=float(f"{bounded:.2g}"))


def round_wire_ratio(s: Complex, ohm_per_m: float) -> Complex:
    """Return the internal impedance of a round wire over its d.c. resistance at complex frequencies s, rad/s.

    (z/2) J0(z) / J1(z) with z^2 = -s mu0 / (pi R'), by the continued fraction of the Bessel functions' ratio.
    """
    squared = -s * MU_0 / (math.pi * ohm_per_m)
    below = np.ones_like(squared)
    for term in range(FRACTION_TERMS, 0, -1):
        below = 1.0 - squared / (4.0 * term * (term + 1)) / below
    return np.asarray(below, dtype=np.complex128)


def propagation(line: PairLine, s: Complex) -> Complex:
    """Return gamma of a metre of the pair at complex frequencies s, rad/s."""
    series = 2 * line.ohm_per_m * (1 + line.proximity * (round_wire_ratio(s, line.ohm_per_m) - 1))
    loss = (s / (2 * math.pi * REFERENCE_HZ)) ** (-2 * math.atan(line.loss_tangent) / math.pi)
    gamma: Complex = np.sqrt((series + s * line.henry_per_m) * s * line.farad_per_m * loss)
    return gamma


@cache
def _frequencies() -> Complex:
    window = STEP_S * SAMPLE_COUNT
    return np.asarray(DAMPING / window + 2j * math.pi / window * np.arange(SAMPLE_COUNT // 2 + 1), dtype=np.complex128)


def shape_times_s() -> Array:
    """Return the times of `echo_shape`, seconds after a lossless echo of the same length would have its middle."""
    return np.asarray(np.arange(SAMPLE_COUNT) * STEP_S - BEFORE_S, dtype=np.float64)


@lru_cache(maxsize=256)
def echo_shape(line: PairLine, length_m: float) -> Array:
    """Return the step of one volt after a way out and back of this length, at `shape_times_s`."""
    s = _frequencies()
    way = propagation(line, s) - s * line.second_per_m
    spectrum = np.exp(s * s * SIGMA_S**2 / 2 - s * BEFORE_S - 2 * length_m * way) / s
    damped = np.fft.irfft(spectrum, SAMPLE_COUNT) / STEP_S
    shape: Array = damped * np.exp(s[0].real * STEP_S * np.arange(SAMPLE_COUNT))
    shape.flags.writeable = False
    return shape


def half_of_plateau_s(line: PairLine, length_m: float) -> float:
    """Return when the echo passes half of its first plateau, seconds after a lossless one would."""
    times, shape = shape_times_s(), echo_shape(line, length_m)
    delay = 2 * length_m * line.second_per_m
    late = 0.0
    for _ in range(8):
        plateau = float(np.interp(late + min(PLATEAU_S, PLATEAU_PART * (delay + late)), times, shape))
        late = float(np.interp(plateau / 2, shape[: int(np.argmax(shape))], times[: int(np.argmax(shape))]))
    return late


@lru_cache(maxsize=16)
def phase_delay_ratio(line: PairLine) -> float:
    """Return the delay of a metre at the reference frequency over that without loss."""
    omega = 2 * math.pi * REFERENCE_HZ
    return float(propagation(line, np.array([1j * omega]))[0].imag) / omega / line.second_per_m


SHAPE_LENGTHS_M = np.geomspace(0.5, 320.0, 28)


@lru_cache(maxsize=16)
def _slowness(line: PairLine) -> Array:
    """Return time of half a plateau over the time by phase velocity at the reference frequency, at LENGTHS_M."""
    phase = phase_delay_ratio(line) * line.second_per_m
    late = np.array([half_of_plateau_s(line, length) for length in SHAPE_LENGTHS_M.tolist()])
    ratio: Array = (2 * SHAPE_LENGTHS_M * line.second_per_m + late) / (2 * SHAPE_LENGTHS_M * phase)
    return ratio


def slowness(line: PairLine, length_m: Array) -> Array:
    """Return by what factor loss and rise make an echo later than the stated velocity factor says, [m] -> [m]."""
    ratio: Array = np.interp(np.log(np.maximum(length_m, SHAPE_LENGTHS_M[0])), np.log(SHAPE_LENGTHS_M), _slowness(line))
    return ratio
