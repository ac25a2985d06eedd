"""Steps into a pair and what comes back: sampled reflections, and the first echo's time.

The tester drives contact a through a resistor from a step and holds contact b low through another; it looks at
the difference of their voltages. All other contacts float with their own capacitance; the tester's ground floats.
Time signals come from complex frequencies s = damping + j omega by a damped fast Fourier transform (numerical
inverse Laplace), so that what falls outside the window is weaker by DAMPING_IN_WINDOW nepers.
"""

import math
from dataclasses import dataclass

import numpy as np

from firmware_sim.cable_model.arrays import Complex, Matrix
from firmware_sim.cable_model.direct_current.far_end import far_admittance
from firmware_sim.cable_model.fields.lines import ModesAt, plug_wires, y_endless, y_in
from firmware_sim.cable_model.laid_out.run import Run
from firmware_sim.cable_model.written.description import Description
from firmware_sim.cable_model.written.plugs import RJ45, SCREEN

RISE_S = 3e-9  # of the step, 10 to 90 % (assumption)
SIGMA_S = RISE_S / 2.563  # of the Gaussian whose integral is that step
DAMPING_IN_WINDOW = 14.0
LAUNCH_S = 10e-9  # where in the window the step's middle lies
FAINTEST = 1e-10  # parts of the spectrum below this are left out


@dataclass(frozen=True, slots=True)
class Grid:
    """Times at which a reflection is computed: count samples, step_s apart, beginning LAUNCH_S before the step."""

    step_s: float
    count: int

    @property
    def window_s(self) -> float:
        """Length of the window."""
        return self.step_s * self.count


FULL = Grid(0.25e-9, 16384)


def grid_for(length_m: float) -> Grid:
    """Return a grid that holds the first round trip of any cable of that length and the rise after it.

    9.2 ns a metre and way is slower than water in the core makes it; what comes later is damped away.
    """
    window_s = 2 * length_m * 9.2e-9 + 100e-9
    return Grid(FULL.step_s, 256 * math.ceil(window_s / FULL.step_s / 256))


def frequencies(grid: Grid) -> Complex:
    """Return the complex frequencies, rad/s, that a Gaussian step needs."""
    omega = 2 * math.pi * np.arange(grid.count // 2 + 1) / grid.window_s
    omega = omega[: np.searchsorted(omega, math.sqrt(-2 * math.log(FAINTEST)) / SIGMA_S)]
    return DAMPING_IN_WINDOW / grid.window_s + 1j * omega


def times_s(grid: Grid) -> Matrix:
    """Return the times of the samples, seconds after the middle of the step."""
    return np.arange(grid.count) * grid.step_s - LAUNCH_S


def in_time(transfer: Complex, grid: Grid) -> Matrix:
    """Return the answer of `transfer` [..., f] at `frequencies` to the Gaussian step of one volt, [..., count]."""
    s = frequencies(grid)
    spectrum = transfer * np.exp(s * s * SIGMA_S**2 / 2 - s * LAUNCH_S) / s
    padded = np.zeros((*transfer.shape[:-1], grid.count // 2 + 1), complex)
    padded[..., : len(s)] = spectrum
    damped = np.fft.irfft(padded, grid.count, axis=-1) / grid.step_s
    volts: Matrix = damped * np.exp(DAMPING_IN_WINDOW / grid.window_s * grid.step_s * np.arange(grid.count))
    return volts


def port_impedance(description: Description, run: Run, y: Complex, s: Complex) -> Complex:
    """Return the impedance matrix between near contacts 1..8 and the tester's ground, [f][8][8], pins included.

    y: between the near plug's wires, as lines.y_in gives it.
    """
    place = {colour: index for index, colour in run.near.items()}
    at = np.array([place[colour] for colour in plug_wires(run)], int)
    pins = len(RJ45) - 1
    # Nodes: the eight contacts and the cable's reference; the tester's ground is the datum.
    full: Complex = np.zeros((len(s), pins + 1, pins + 1), complex)
    full[:, at[:, None], at] = y
    full[:, at, pins] = -y.sum(axis=2)
    full[:, pins, at] = -y.sum(axis=1)
    full[:, pins, pins] = y.sum(axis=(1, 2))
    reference_pf = description.stray_pf + description.pin_pf * (SCREEN in place)
    to_ground_f = np.array([description.pin_pf] * pins + [reference_pf]) * 1e-12
    full[:, range(pins + 1), range(pins + 1)] += s[:, None] * to_ground_f
    impedance: Complex = np.linalg.inv(full)[:, :pins, :pins]
    return impedance


def differential(impedance: Complex, a: int, b: int, drive_ohm: float) -> Complex:
    """Return (V_a - V_b) / V_step, a driven and b held low through drive_ohm each, others floating; [f].

    impedance: as port_impedance's. The two resistors are added to it in closed form.
    """
    z_aa, z_bb = impedance[:, a, a], impedance[:, b, b]
    z_ab, z_ba = impedance[:, a, b], impedance[:, b, a]
    y = 1 / drive_ohm
    cross = y * (z_aa * z_bb - z_ab * z_ba)
    return y * (z_aa + cross - z_ba) / (1 + y * (z_aa + z_bb + cross))


@dataclass(frozen=True, slots=True)
class Reflection:
    """What a step into two contacts shows, volts per volt of step: the whole, and the whole less an endless cable's.

    volts, echo: [count] samples of `grid`.
    """

    grid: Grid
    volts: Matrix
    echo: Matrix


class Port:
    """The near contacts of a run in the tester, ready to be stepped into; contacts 0..7."""

    def __init__(self, description: Description, run: Run, grid: Grid | None = None) -> None:
        self.grid = grid or grid_for(sum(span.length_m for span in run.spans))
        s = frequencies(self.grid)
        modes = ModesAt(s, run.temperature_c)
        whole = y_in(run, modes, far_admittance(description, run, s))
        self._whole = port_impedance(description, run, whole, s)
        self._endless = port_impedance(description, run, y_endless(run, modes), s)

    def step(self, a: int, b: int, drive_ohm: float = 50.0) -> Reflection:
        """Return what comes back when contact a is driven and b held low through drive_ohm each."""
        whole = differential(self._whole, a, b, drive_ohm)
        endless = differential(self._endless, a, b, drive_ohm)
        volts, echo = in_time(np.stack([whole, whole - endless]), self.grid)
        return Reflection(self.grid, volts, echo)


@dataclass(frozen=True, slots=True)
class FirstEcho:
    """arrival_s after the middle of the step; polarity +1 or -1; height: first plateau, parts of the step."""

    arrival_s: float
    polarity: int
    height: float


SETTLED_S = 11e-9  # how long after its middle an echo's first plateau is read
SETTLED_PART = 0.7  # but no later than this part of its arrival, before the second round trip
FAINTEST_ECHO = 0.01
PRECURSOR = 0.4  # what stays below this part of the largest excursion is no echo of its own


def first_echo(reflection: Reflection) -> FirstEcho | None:
    """Return the first echo: where it passes half of its own first plateau; None = nothing comes back."""
    times = times_s(reflection.grid)
    echo = reflection.echo
    highest = float(np.abs(echo).max())
    if highest < FAINTEST_ECHO:
        return None
    begun = int(np.argmax(np.abs(echo) > PRECURSOR * highest))
    polarity = 1 if echo[begun] > 0 else -1
    upright = echo * polarity
    arrival, plateau = float(times[begun]), 0.0
    for _ in range(40):
        plateau = float(np.interp(arrival + min(SETTLED_S, SETTLED_PART * max(arrival, 0.0)), times, upright))
        after = int(np.argmax(upright > plateau / 2))
        if plateau < FAINTEST_ECHO or after == 0:
            return None
        low, high = upright[after - 1], upright[after]
        passed = float(times[after - 1] + (plateau / 2 - low) / (high - low) * reflection.grid.step_s)
        if abs(passed - arrival) < 1e-14:
            break
        arrival = passed
    return FirstEcho(arrival, polarity, plateau)
