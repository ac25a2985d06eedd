"""What a step shows between two contacts: all conductors of the cable as one line of many modes, in frequency.

Chain matrices of every section in its own modes (Paul, Analysis of Multiconductor Transmission Lines, from memory),
from the far end to the near one; skin effect by Bessel's functions; the step comes back into time by an inverse Laplace
transform along a line to the right of the axis (damped Fourier series), what is settled taken off before. A foil loses
as a thick one does, and the ohms of contacts and joints, hundredths against a hundred, are left out.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import special

from tests.world.analog.cable import CONTACTS, Cable, Plug, Section
from tests.world.analog.makes import maxwell
from tests.world.analog.panels import Array
from tests.world.analog.wires import Complex

STEP_NS = 1.0
DAMPING = 5.0  # nepers over the window: what is left after it comes round e^-5 as large
LOSS_AT = 2 * np.pi * 1e6  # rad/s, where the permittivity is that of rest
SPREAD_OF_RISE = 2.563  # a Gaussian edge's rise from 10 to 90 % over its standard deviation


@dataclass(frozen=True)
class Ends:
    """What hangs on the cable: contacts' own capacitances to the tester's ground, near and far [9], pF (far 0 = free);
    stray_pf: from the reference to that ground. drive_ohm, rise_ns: of the source; before_ns: of the record's start.
    """

    near_pf: Array
    far_pf: Array
    stray_pf: float
    drive_ohm: float
    rise_ns: float
    before_ns: float = 19.0


def samples_for(cable: Cable) -> int:
    """Return how many samples hold the echo twice over: 512, 1024 or 2048."""
    back_ns = 2 * cable.length_m / 0.19
    return next((count for count in (512, 1024) if count > 2.2 * back_ns + 100), 2048)


def traces(cable: Cable, pairs: Sequence[tuple[str, str]], ends: Ends) -> dict[tuple[str, str], Array]:
    """Return the differential voltage over the step's for each two near contacts, at 1 ns from -before_ns on."""
    count = samples_for(cable)
    window = count * STEP_NS * 1e-9
    s = DAMPING / window + 2j * np.pi * np.arange(count // 2 + 1) / window
    impedance = _near_impedance(cable, s, ends)
    sigma = ends.rise_ns * 1e-9 / SPREAD_OF_RISE
    edge = np.exp((s * sigma) ** 2 / 2 - s * ends.before_ns * 1e-9) / s
    time = np.arange(count) * STEP_NS * 1e-9
    risen = 0.5 * (1 + special.erf((time - ends.before_ns * 1e-9) / sigma / np.sqrt(2)))
    found = {}
    for one, other in pairs:
        a, b = CONTACTS.index(one), CONTACTS.index(other)
        share = _share(impedance, a, b, ends.drive_ohm)
        moving = np.fft.irfft((share - 1.0) * edge, count) / (STEP_NS * 1e-9) * np.exp(DAMPING * time / window)
        found[one, other] = np.asarray(moving + risen)
    return found


def _share(impedance: Complex, a: int, b: int, drive_ohm: float) -> Complex:
    """Return the voltage of a less that of b over the step, a driven and b held low through drive_ohm each."""
    aa, bb, ab = impedance[:, a, a], impedance[:, b, b], impedance[:, a, b]
    # V = Z I, I_a = (1 - V_a) / R, I_b = -V_b / R
    whole = (drive_ohm + aa) * (drive_ohm + bb) - ab**2
    into, out = (drive_ohm + bb) / whole, -ab / whole
    return np.asarray((aa - ab) * into + (ab - bb) * out)


def _near_impedance(cable: Cable, s: Complex, ends: Ends) -> Complex:
    """Return impedances of the near contacts 1 to 8 to the tester's ground, [k, 8, 8], all else hanging as it does."""
    size = cable.kind.conductors
    per_ohm = cable.wire.ratio(s, cable.temperature_c)
    y = s[:, None, None] * _plug_pf(cable.far, size, ends.far_pf)[None, :, :] * 1e-12
    breaks = {at: [c for c, where in cable.breaks if where == at] for _, at in cable.breaks}
    joints = {joint.at_m: joint for joint in cable.joints}
    at = cable.length_m
    _open(y, breaks.get(at, ()))
    for section in reversed(cable.sections):
        y = _through(y, section, cable, s, per_ohm)
        at = section.start_m
        if at in joints:
            pf = joints[at].pf
            y[:, :size, :size] += s[:, None, None] * (np.diag(pf.sum(axis=1)) - pf) * 1e-12
        _open(y, breaks.get(at, ()))
    return _at_contacts(y, cable.near, s, ends)


def _plug_pf(plug: Plug, size: int, own_pf: Array) -> Array:
    """Return Maxwell's capacitances of the conductors in a plug, to the reference, pF; empty contacts are not there.

    The tester's ground is taken as the reference at the far end: a pair driven evenly does not see which of both.
    """
    pf = np.zeros((size, size))
    for a, one in enumerate(plug.holds):
        for b, other in enumerate(plug.holds):
            if one is not None and other is not None and a != b:
                pf[one, one] += plug.pf[a, b]
                pf[one, other] -= plug.pf[a, b]
        if one is not None:
            pf[one, one] += plug.screen_pf[a] + own_pf[a] + 1e-3
    return pf


def _open(y: Complex, conductors: Sequence[int]) -> None:
    """Part conductors: what lies beyond them floats, and nothing of them is left on this side."""
    for one in conductors:
        row, column = y[:, one, :].copy(), y[:, :, one].copy()
        y -= column[:, :, None] * row[:, None, :] / y[:, one, one][:, None, None]
        y[:, one, :] = 0.0
        y[:, :, one] = 0.0


def _through(y: Complex, section: Section, cable: Cable, s: Complex, per_ohm: Complex) -> Complex:
    """Return the admittances at the near end of a section whose far end sees y, [k, n, n]."""
    length = section.length_m
    pf = maxwell(section.pf, section.to_reference_pf) / length * 1e-12
    henry = section.nh_per_m * 1e-9
    root = np.linalg.cholesky(henry)
    slowness, turned = np.linalg.eigh(root.T @ pf @ root)
    volts = root @ turned  # V = volts v, I = volts^-T i: modes of unit inductance and capacitance `slowness`
    inverse = np.linalg.inv(volts)
    damping = np.einsum("ij,ij->i", inverse, inverse)  # what one ohm in every conductor is to each mode
    ohm = float(np.mean(cable.ohm)) / cable.length_m
    series = s[:, None] + ohm * (1 + cable.crowding * (per_ohm - 1))[:, None] * damping[None, :]
    slow = (s / LOSS_AT) ** (-2 * cable.kind.tan_delta / np.pi)  # the same loss at every frequency, and causal
    parallel = (s * slow)[:, None] * slowness[None, :]
    gamma, admittance = np.sqrt(series * parallel), np.sqrt(parallel / series)
    cosh, sinh = np.cosh(gamma * length), np.sinh(gamma * length)
    load = np.einsum("ia,kij,jb->kab", volts, y, volts, optimize=True)
    current = cosh[:, :, None] * load
    diagonal = np.arange(len(henry))
    current[:, diagonal, diagonal] += admittance * sinh
    voltage = (sinh / admittance)[:, :, None] * load
    voltage[:, diagonal, diagonal] += cosh
    inside = np.linalg.solve(voltage.transpose(0, 2, 1), current.transpose(0, 2, 1)).transpose(0, 2, 1)
    return np.asarray(np.einsum("ai,kab,bj->kij", inverse, inside, inverse, optimize=True))


def _at_contacts(y: Complex, plug: Plug, s: Complex, ends: Ends) -> Complex:
    """Return impedances between contacts and the tester's ground; the reference floats behind its stray capacitance."""
    full = np.zeros((len(s), 9, 9), dtype=np.complex128)
    holds = [(contact, held) for contact, held in enumerate(plug.holds) if held is not None]
    contacts, conductors = [c for c, _ in holds], [h for _, h in holds]
    ordered = y[:, conductors][:, :, conductors]
    full[:, np.ix_(contacts, contacts)[0], np.ix_(contacts, contacts)[1]] = ordered
    full[:, contacts, 8] = full[:, 8, contacts] = -ordered.sum(axis=2)
    full[:, 8, 8] = ordered.sum(axis=(1, 2))
    own = np.zeros((9, 9))
    own[:8, :8] = np.diag(plug.pf.sum(axis=1) + plug.screen_pf) - plug.pf
    own[:8, 8] -= plug.screen_pf
    own[8, :8] -= plug.screen_pf
    own[8, 8] += plug.screen_pf.sum()
    to_ground = np.append(ends.near_pf[:8], ends.stray_pf + (ends.near_pf[8] if plug.screened else 0.0))
    own[np.diag_indices(9)] += to_ground
    full += s[:, None, None] * own * 1e-12
    return np.asarray(np.linalg.inv(full)[:, :8, :8])
