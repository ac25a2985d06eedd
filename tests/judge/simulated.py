"""Readings of simulated cables: one described cable as a board would measure it, or many drawn ones at once."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from firmware_sim.cable_model.fields.echo import Grid
from firmware_sim.cable_model.tables import tables
from firmware_sim.cable_model.written.description import Description
from tests.firmware_sim.cable_model.population import Spread, draw, pair_echoes, two_terminal_pf
from tests.firmware_sim.parsed import parse_description
from wiremap.calibration import Calibration
from wiremap.contact import Contact, far_contact, near_contact
from wiremap.judge.run.network import Array
from wiremap.reading.parts import Capacitance, Echo, Tester, Trace
from wiremap.reading.reading import Far, Ohm, Reading, square

CONTACTS = ("1", "2", "3", "4", "5", "6", "7", "8", "S")
COUNT = len(CONTACTS)
PAIRS = (("1", "2"), ("3", "6"), ("4", "5"), ("7", "8"))
PLACES = (*map(near_contact, CONTACTS), *map(far_contact, CONTACTS))
USUAL_ORDER = (0, 1, 2, 5, 3, 4, 6, 7)  # contact of each conductor: the pairs of a straight cable
TICK_PS, LAUNCH_PS, REPEATS, JITTER_PS = 8000.0, 20_000.0, 64, 300.0
DITHER_PS = tuple(number * TICK_PS / REPEATS for number in range(REPEATS))
TAKEN = "2026-03-01T08:30:00Z"
ABLE = ("RES", "LOW", "CAP", "GROUP", "ECHO", "TRACE", "FOREIGN", "WATCH")
FARS: dict[str, Far] = {"tester": "tester", "open": "open", "joined": "joined", "equipment": "equipment"}
ZEROED = Calibration("1", TAKEN)  # its zeros are known to their usual uncertainty, and nothing of any cable
Floats = tuple[tuple[float | None, ...], ...]


def described(
    length_m: float = 5.0,
    near: str | Sequence[str] = "T568B",
    far: str | Sequence[str] | None = None,
    kind: str = "UTP",
    faults: str = "",
    top: str = "",
    segments: str = "",
) -> Description:
    """Return a described cable in the board that hears echoes. near, far: a termination or colours; the rest: TOML."""
    return parse_description(
        f'format = 1\ntitle = "a cable"\nboard = "reference"\nnear = {_end(near)}\nfar = {_end(far or near)}\n{top}\n'
        f'[[segment]]\ncable = "{kind}"\nlength_m = {length_m}\n{segments}\n{faults}'
    )


def _end(end: str | Sequence[str]) -> str:
    return f'"{end}"' if isinstance(end, str) else "[" + ", ".join(f'"{colour}"' for colour in end) + "]"


def fault(kind: str, conductors: Sequence[str], at_m: float, **more: float) -> str:
    """Return one fault as TOML."""
    names = ", ".join(f'"{name}"' for name in conductors)
    rest = "".join(f"{key} = {value}\n" for key, value in more.items())
    return f'[[fault]]\nkind = "{kind}"\nconductors = [{names}]\nat_m = {at_m}\n{rest}'


FAR_OPEN = '[attached]\nfar = "open"\n'


def measured_reading(
    cable: Description,
    seed: int = 1,
    noise_pf: float = 0.5,
    grouped: bool = True,
    two_terminal: bool = True,
    traces: bool = True,
    echoes: bool = True,
    tied: bool = False,
    step_ohm: float = 0.25,
    calibration: Calibration | None = ZEROED,
    said: Far | None = None,
) -> Reading:
    """Return what a tester would read of a described cable; what is False it cannot measure.

    said: what its user says that the far plug is in, None = what it is in.
    """
    rng = np.random.default_rng(seed)
    found = tables(cable, "coarse" if echoes or traces else "none")
    far = said or FARS[cable.attached.far]
    seen = len(PLACES) if far == "tester" else COUNT
    network = found["networks"][0]
    ohms: dict[tuple[Contact, Contact], Ohm] = {}
    for (i, j), value in zip(_upper(), network["milliohm"], strict=True):
        if j < seen:
            ohms[PLACES[i], PLACES[j]] = "open" if value is None else step_ohm * round(value / 1000 / step_ohm)
    shown = found["capacitance"]
    single = tuple(
        value / 1000 + float(rng.normal(0, noise_pf)) if place < seen else None
        for place, value in enumerate(shown["single_ff"])
    )
    capacitance = Capacitance(
        _noisy(shown["pair_tied_ff" if tied else "pair_ff"], seen, noise_pf, rng) if two_terminal else None,
        single if grouped else None,
        _noisy(shown["double_ff"], seen, noise_pf, rng) if grouped else None,
        cable.pin_pf,
        tied,
        1,
        noise_pf,
    )
    pairs = [(CONTACTS.index(a), CONTACTS.index(b)) for a, b in PAIRS]
    return Reading(
        TAKEN,
        Tester("WIREMAP", "BENCH-18", "1", "1", ABLE, step_ohm),
        calibration,
        far,
        CONTACTS,
        CONTACTS,
        square(PLACES, ohms, None),
        None,
        capacitance if grouped or two_terminal else None,
        tuple(_counts(i, j, found["echo"]["50"].get(f"{i},{j}"), rng) for i, j in pairs) if echoes else (),
        _traced(found["trace"], pairs) if traces else (),
    )


def _noisy(values: Sequence[int | None], seen: int, noise_pf: float, rng: np.random.Generator) -> Floats:
    """Return values over two contacts each, fF, as pF with noise; None beyond the contacts that are seen."""
    pf: dict[tuple[Contact, Contact], Ohm] = {}
    for (i, j), value in zip(_upper(), values, strict=True):
        if j < seen and value is not None:
            pf[PLACES[i], PLACES[j]] = value / 1000 + float(rng.normal(0, noise_pf))
    return tuple(
        tuple(value if isinstance(value, float) else None for value in row) for row in square(PLACES, pf, None)
    )


def _traced(sampled: Mapping[str, Any], pairs: Sequence[tuple[int, int]]) -> tuple[Trace, ...]:
    """Return the traces of those pairs that have one."""
    made = [(i, j, sampled[f"{i},{j}"]) for i, j in pairs if sampled.get(f"{i},{j}") is not None]
    return tuple(
        Trace(PLACES[i], PLACES[j], one["t0_ps"], one["dt_ps"], tuple(one["microvolts"])) for i, j, one in made
    )


def _upper() -> list[tuple[int, int]]:
    return [(i, j) for i in range(len(PLACES)) for j in range(i + 1, len(PLACES))]


def _counts(i: int, j: int, came: list[int] | None, rng: np.random.Generator) -> Echo:
    if came is None:
        return Echo(PLACES[i], PLACES[j], (None,) * REPEATS, TICK_PS, LAUNCH_PS, 50.0, 0, DITHER_PS)
    return Echo(PLACES[i], PLACES[j], counted(came[0], rng), TICK_PS, LAUNCH_PS, 50.0, came[1], DITHER_PS)


def counted(arrival_ps: float, rng: np.random.Generator) -> tuple[int, ...]:
    """Return the counts of an echo that is measured again and again, the step dithered evenly over a tick."""
    late = LAUNCH_PS + arrival_ps + np.array(DITHER_PS) + JITTER_PS * rng.standard_normal(REPEATS)
    return tuple(int(count) for count in np.floor(late / TICK_PS))


@dataclass(frozen=True)
class Lot:
    """Many sound straight cables, both plugs in the tester: lengths [n], arrivals (s) [n, 4] and a reading of each."""

    length_m: Array
    arrival_s: Array
    readings: tuple[Reading, ...]


def lot(kind: str, length_m: Array, seed: int, spread: Spread | None = None, grid: Grid | None = None) -> Lot:
    """Draw cables of these lengths and read them with a tester that strays as its budget says.

    Of the tester: gain 1.5 %, zero of echoes 0.58 ns, 0.8 pF a capacitance beside its noise of 0.5 pF, resistances
    wrong by up to half a step of 0.25 ohm, those of one cable alike. Both plugs of a cable are of one make, which adds
    1.2 +- 0.5 pF between neighbouring contacts and 0.35 +- 0.2 pF between every second ones.
    """
    count = len(length_m)
    rng = np.random.default_rng(seed)
    cables = draw(kind, length_m, seed, spread)
    pin_pf = 10.0
    arrival, _ = pair_echoes(cables, pin_pf, pin_pf, grid=grid)
    at = np.argsort(USUAL_ORDER)
    shown = two_terminal_pf(cables, 2 * pin_pf)[:, at[:, None], at[None, :]]
    gain = 1 + 0.015 * rng.standard_normal(count)
    zero_ps = 580.0 * rng.standard_normal(count)
    wires = cables.wire_ohm[:, at]
    off_ohm = rng.uniform(-0.125, 0.125, count)
    readings = []
    for number in range(count):
        pf: dict[tuple[Contact, Contact], Ohm] = {}
        ohms: dict[tuple[Contact, Contact], Ohm] = {}
        plugs_pf = {1: 2 * max(rng.normal(1.2, 0.5), 0.0), 2: 2 * max(rng.normal(0.35, 0.2), 0.0)}
        for i in range(8):
            ohms[PLACES[i], PLACES[COUNT + i]] = max(float(wires[number, i] + off_ohm[number]), 0.0)
            for j in range(i + 1, 8):
                stray_pf = float(rng.normal(0, math.hypot(0.8, 0.5))) + plugs_pf.get(j - i, 0.0)
                pf[PLACES[i], PLACES[j]] = (
                    float((shown[number, i, j] - 2 * pin_pf) * gain[number]) + 2 * pin_pf + stray_pf
                )
        seen = tuple(
            tuple(value if isinstance(value, float) else None for value in row) for row in square(PLACES, pf, None)
        )
        echoes = []
        for pair, (a, b) in enumerate(PAIRS):
            ticks = counted(float(arrival[number, pair]) * 1e12 + float(zero_ps[number]), rng)
            echoes.append(Echo(near_contact(a), near_contact(b), ticks, TICK_PS, LAUNCH_PS, 50.0, 1, DITHER_PS))
        readings.append(
            Reading(
                TAKEN,
                Tester("WIREMAP", "BENCH-18", "1", "1", ABLE, 0.25),
                ZEROED,
                "tester",
                CONTACTS,
                CONTACTS,
                square(PLACES, ohms, "open"),
                None,
                Capacitance(seen, None, None, pin_pf, False, 1, 0.5),
                tuple(echoes),
            )
        )
    return Lot(length_m, np.asarray(arrival, dtype=np.float64), tuple(readings))
