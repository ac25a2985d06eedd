"""A tester's own errors, and the Reading it makes of a cable."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.world.analog.cable import CONTACTS, Cable
from tests.world.analog.makes import Random
from tests.world.analog.network import Values, network, ohms, values
from tests.world.analog.panels import Array
from tests.world.analog.traces import STEP_NS, Ends, traces
from wiremap.contact import near_contact
from wiremap.reading.parts import Capacitance, Tester, Trace
from wiremap.reading.reading import Ohm, Reading

NAMES = (*CONTACTS, "S")
PAIRS = (("1", "2"), ("3", "6"), ("4", "5"), ("7", "8"))
STEP_OHM, STEP_UV, REPEATS = 0.02, 3_300_000, 8
FEATURES = ("RES", "LOW", "CAP", "GROUP", "FOREIGN")


@dataclass(frozen=True)
class Instrument:
    """One tester's errors, drawn once for it.

    pins_pf: [18] what each contact has to the tester's ground; it says said_pin_pf. gain, offset_pf, noise_pf (of one
    measurement; REPEATS are averaged), step_pf: of capacitance. ohm_gain, ohm_noise: of resistance, steps of STEP_OHM.
    stray_pf: from what the cable lies on, or its screen where no contact has it, to the tester's ground. drive_ohm,
    rise_ns, zero_ns, trace_noise, trace_step (both of the step): of traces; it says drive_said_ohm.
    """

    pins_pf: Array
    gain: float
    offset_pf: float
    noise_pf: float
    ohm_gain: float
    stray_pf: float
    drive_ohm: float
    rise_ns: float
    zero_ns: float
    said_pin_pf: float = 10.0
    step_pf: float = 0.03
    ohm_noise: float = 0.02
    trace_noise: float = 0.002
    trace_step: float = 0.004
    drive_said_ohm: float = 50.0


def instrument(rng: Random) -> Instrument:
    """Draw a tester: gain 1.5 %, noise 0.2 to 1 pF, ohms 1 % and 20 mohm, pins 5 %, edge 4 %, zero 0.1 ns;

    of traces noise 0.1 to 0.5 % of the step and 256 steps.
    """
    return Instrument(
        pins_pf=10.0 * np.exp(rng.normal(0.0, 0.05, 18)),
        gain=float(1 + rng.normal(0.0, 0.015)),
        offset_pf=float(rng.normal(0.0, 0.3)),
        noise_pf=float(np.exp(rng.uniform(math.log(0.2), 0.0))),
        ohm_gain=float(1 + rng.normal(0.0, 0.01)),
        stray_pf=float(np.exp(rng.uniform(math.log(10.0), math.log(100.0)))),
        drive_ohm=float(50.0 * (1 + rng.normal(0.0, 0.01))),
        rise_ns=float(3.0 * (1 + rng.normal(0.0, 0.04))),
        zero_ns=float(rng.normal(0.0, 0.1)),
        trace_noise=float(np.exp(rng.uniform(math.log(0.001), math.log(0.005)))),
    )


def measure(
    cable: Cable, rng: Random, *, far: str = "tester", trace: bool = True, by: Instrument | None = None
) -> Reading:
    """Return what a tester sees of a cable.

    far: "tester" = both plugs are in it, "open" = the far one hangs free. trace: with sampled reflections of the usual
    pairs of the near plug. by: which tester, None = another one each time.
    """
    if far not in ("tester", "open"):
        raise ValueError(f"far is 'tester' or 'open', not {far!r}")
    own = by or instrument(rng)
    used = range(18 if far == "tester" else 9)
    true = values(network(cable), used, own.pins_pf, own.stray_pf)
    seen = _ohms(cable, len(used), own, rng)
    return Reading(
        taken_utc=None,
        tester=Tester("own", "analog world", "1", "1", (*FEATURES, "TRACE") if trace else FEATURES, STEP_OHM),
        calibration=None,
        far="tester" if far == "tester" else "open",
        near_contacts=NAMES,
        far_contacts=NAMES,
        resistance_ohm=seen,
        low_level_ohm=_ohms(cable, len(used), own, rng),
        capacitance=_capacitance(true, own, rng),
        traces=_traces(cable, far, own, rng) if trace else (),
        origin="tester",
    )


def _ohms(cable: Cable, used: int, own: Instrument, rng: Random) -> tuple[tuple[Ohm, ...], ...]:
    true = ohms(cable)
    rows: list[list[Ohm]] = [[None] * 18 for _ in range(18)]
    for i in range(18):
        rows[i][i] = 0.0
        for j in range(i):
            if i < used:
                value: Ohm = "open"
                if np.isfinite(true[i, j]):
                    read = true[i, j] * own.ohm_gain + rng.normal(0.0, own.ohm_noise)
                    value = round(max(0.0, round(read / STEP_OHM) * STEP_OHM), 6)
                rows[i][j] = rows[j][i] = value
    return tuple(map(tuple, rows))


def _capacitance(true: Values, own: Instrument, rng: Random) -> Capacitance:
    def read(pf: Array, symmetric: bool) -> list[Any]:
        noise = rng.normal(0.0, own.noise_pf / math.sqrt(REPEATS), pf.shape)
        if symmetric:
            noise = np.triu(noise, 1) + np.triu(noise, 1).T
        shown = np.round((pf * own.gain + own.offset_pf + noise) / own.step_pf) * own.step_pf
        whole = np.full((18,) * pf.ndim, np.nan)
        whole[tuple(slice(len(pf)) for _ in range(pf.ndim))] = shown
        plain = np.round(whole, 3).astype(object)
        plain[~np.isfinite(whole)] = None
        return list(plain.tolist())

    two, single, double = read(true.two_terminal, True), read(true.single, False), read(true.double, True)
    return Capacitance(
        two_terminal_pf=tuple(map(tuple, two)),
        single_pf=tuple(single),
        double_pf=tuple(map(tuple, double)),
        pin_pf=own.said_pin_pf,
        screen_tied=False,
        repeats=REPEATS,
        sd_pf=round(own.noise_pf, 3),
    )


def _traces(cable: Cable, far: str, own: Instrument, rng: Random) -> tuple[Trace, ...]:
    holds = cable.near.holds
    pairs = [pair for pair in PAIRS if all(holds[CONTACTS.index(contact)] is not None for contact in pair)]
    far_pf = own.pins_pf[9:] if far == "tester" else np.zeros(9)
    ends = Ends(own.pins_pf[:9], far_pf, own.stray_pf, own.drive_ohm, own.rise_ns, 19.0 + own.zero_ns)
    found = []
    for (one, other), share in traces(cable, pairs, ends).items():
        noisy = share + rng.normal(0.0, own.trace_noise, len(share))
        steps = np.round(noisy / own.trace_step) * own.trace_step
        microvolts = tuple(int(value) for value in np.round(steps * STEP_UV))
        found.append(
            Trace(
                near_contact(one),
                near_contact(other),
                -19_000.0,
                STEP_NS * 1000,
                microvolts,
                STEP_UV,
                own.drive_said_ohm,
            )
        )
    return tuple(found)
