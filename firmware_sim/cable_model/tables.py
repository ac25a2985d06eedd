"""From a description to the integers that the fake board measures: `tables(description)`.

The result holds only dicts, lists, integers, texts and None, ready for JSON. Contacts are numbered 0..17: near
1..8 and S, then far 1..8 and S. "tri" is the upper triangle row by row, n(n-1)/2 entries; None = open.

    format, contacts   1, 18
    networks           distinct electrical states: {"milliohm": tri, "low_milliohm": tri, "film": [[i, j], ...],
                       "capacitance": k, "echo": k}; two-terminal resistance, all others floating, under full
                       current and at no more than 20 mV; film: contacts joined whose low-level value is higher
                       by more than 1 ohm; the last two are places in the lists "capacitances" and "echoes"
    schedule           [[from_us, network index], ...]: which state holds when, in board time
    period_us          the schedule repeats after it; None = its last state stays
    capacitances       {"pair_ff": tri, "pair_tied_ff": tri, "single_ff": [18], "double_ff": tri, "leak_ohm": tri};
                       femtofarads at the contacts, pins and far sockets included. pair: the first of the two driven,
                       the second low, all others floating (tied: both screen contacts low too); None where the two
                       are joined. single, double: driven alone or together, all others low but those joined to
                       them. leak_ohm: d.c. resistance where it is above 10 kohm and finite, else None
    echoes             {"50": {"a,b": [arrival_ps, polarity, height_ppm]}, "330": {...}, "trace": {"a,b": {"dt_ps",
                       "t0_ps", "microvolts"}}}; a < b, both near or both far; arrival of the first echo's middle
                       after the middle of the step, height of its first plateau in parts of the step; absent =
                       no echo. Traces: near contacts, 50 ohm, a step of 3.3 V, contact a less contact b
    capacitance, echo, trace   the same of networks[0], for readers that know one state only
    foreign            voltages: {"contact", "other", "millivolts", "source_ohm", "kind", "from_us", "for_us",
                       "every_us"}: one entry for every two contacts it stands between, + at contact; other None
                       = the tester's ground; for_us None = for good
    seed               of the description
    board              {"name": what board is under the sockets}; for all but the reference board each network has
                       "nodes", as fields/nodes has them, and there are no echoes; for the bench board also "values",
                       those of its netlist's parts, and
                       "parts", the number these are drawn from, and
                       where parts are off "off" and "leaks", as board/bench/off has them
"""

import math
from collections.abc import Sequence
from dataclasses import asdict
from itertools import combinations
from typing import Any

import numpy as np

from firmware_sim.cable_model.arrays import Matrix
from firmware_sim.cable_model.direct_current.far_end import attach
from firmware_sim.cable_model.direct_current.foreign import foreign_voltages
from firmware_sim.cable_model.direct_current.networks import (
    JOINED_OHM,
    cable_network,
    effective_resistance,
    tester_contacts,
)
from firmware_sim.cable_model.fields.capacitance import empty_terminals, terminal_capacitance
from firmware_sim.cable_model.fields.echo import FULL, Port, Reflection, first_echo, times_s
from firmware_sim.cable_model.fields.lines import mirrored
from firmware_sim.cable_model.fields.nodes import node_tables
from firmware_sim.cable_model.laid_out.run import CONTACT_COUNT, Run
from firmware_sim.cable_model.laid_out.schedule import in_us
from firmware_sim.cable_model.laid_out.states import State, cables_of, states_over_time
from firmware_sim.cable_model.written.description import Description
from firmware_sim.cable_model.written.plugs import RJ45, SCREEN
from firmware_sim.hardware.bench import bench
from firmware_sim.hardware.values import bench_values

FILM_OHM = 1.0
STEP_V = 3.3
TRACE_SAMPLES = 400
DRIVES_OHM = (50, 330)
UPPER = np.triu_indices(CONTACT_COUNT, 1)
Echoes = dict[str, dict[str, Any]]


def tables(description: Description, echo: str = "coarse") -> dict[str, Any]:
    """Return the tables of the module's text; echo: "none", "coarse" (window as the length asks) or "full"."""
    entries, period_us = states_over_time(description)
    states = list(dict.fromkeys(state for _, state in entries))
    # While a plug bounces, capacitances and echoes are given as they will be once it sits: nothing can measure them.
    settled = list(dict.fromkeys(state and state.settled for state in states))
    place = {state: number for number, state in enumerate(states)}
    settled_place = {state: number for number, state in enumerate(settled)}
    resistances = {state: _resistances(state) for state in settled}
    nodal = description.board != "reference"
    echoes = [_echoes(state, "none" if nodal else echo) for state in settled]
    capacitances = [_capacitance(description.pin_pf, state, resistances[state][0]) for state in settled]
    networks = []
    for state in states:
        seated = state and state.settled
        number = settled_place[seated]
        bouncing = state.bouncing if state else frozenset()
        network = _network(resistances[seated], bouncing) | {"capacitance": number, "echo": number}
        networks.append(network | ({"nodes": node_tables(state)} if nodal else {}))
    first = echoes[networks[0]["echo"]]
    return {
        "format": 1,
        "contacts": CONTACT_COUNT,
        "networks": networks,
        "schedule": [[from_us, place[state]] for from_us, state in entries],
        "period_us": period_us,
        "capacitances": capacitances,
        "echoes": echoes,
        "capacitance": capacitances[0],
        "echo": {str(drive): first[str(drive)] for drive in DRIVES_OHM},
        "trace": first["trace"],
        "foreign": _foreign(description),
        "seed": description.seed,
        "board": _board(description),
    }


def terminal_resistance(state: State | None, low_level: bool = False) -> Matrix:
    """Return the two-terminal resistance between the tester's contacts, ohms, [18][18], inf = open.

    Contacts that only bounce are taken as touching.
    """
    if state is None:
        return np.where(np.eye(CONTACT_COUNT, dtype=bool), 0.0, np.inf)
    network = cable_network(state.run(), low_level)
    attach(network, state.cable)
    return effective_resistance(network, tester_contacts())


def _resistances(state: State | None) -> tuple[Matrix, Matrix]:
    return terminal_resistance(state), terminal_resistance(state, low_level=True)


def _network(resistances: tuple[Matrix, Matrix], bouncing: frozenset[int]) -> dict[str, Any]:
    full, low = (ohms.copy() for ohms in resistances)
    apart = list(bouncing)  # what another contact does changes nothing between two: all others float
    for ohms in (full, low):
        ohms[apart, :] = ohms[:, apart] = np.inf
    joined = np.isfinite(full)
    filmed = np.argwhere(np.triu(joined & (np.where(joined, low - np.where(joined, full, 0.0), 0.0) > FILM_OHM), 1))
    return {"milliohm": triangle(full * 1000), "low_milliohm": triangle(low * 1000), "film": filmed.tolist()}


def _capacitance(pin_pf: float, state: State | None, ohms: Matrix) -> dict[str, Any]:
    seen = terminal_capacitance(state.cable, state.run()) if state else empty_terminals(pin_pf)
    return {
        "pair_ff": triangle(seen.pair * 1000),
        "pair_tied_ff": triangle(seen.pair_tied * 1000),
        "single_ff": [round(value) for value in (seen.single * 1000).tolist()],
        "double_ff": triangle(seen.double * 1000),
        "leak_ohm": triangle(np.where(ohms > JOINED_OHM, ohms, np.inf)),
    }


def _echoes(state: State | None, echo: str) -> Echoes:
    found: Echoes = {name: {} for name in (*map(str, DRIVES_OHM), "trace")}
    if state is None or echo == "none":
        return found
    run = state.run()
    ends: list[tuple[Run, int]] = [(run, 0)]
    if run.far:
        ends.append((mirrored(run), len(RJ45)))
    for end, offset in ends:
        port = Port(state.cable, end, FULL if echo == "full" else None)
        wired = [index for index, colour in sorted(end.near.items()) if colour != SCREEN]
        for a, b in combinations(wired, 2):
            name = f"{a + offset},{b + offset}"
            for drive in DRIVES_OHM:
                reflection = port.step(a, b, drive)
                first = first_echo(reflection)
                if first is not None:
                    arrival_ps, height_ppm = round(first.arrival_s * 1e12), round(first.height * 1e6)
                    found[str(drive)][name] = [arrival_ps, first.polarity, height_ppm]
                if drive == DRIVES_OHM[0] and offset == 0:
                    found["trace"][name] = _trace(reflection, end)
    return found


def _trace(reflection: Reflection, run: Run) -> dict[str, Any]:
    """Sample a reflection from 5 ns before the step to past the first echo, at 1 ns or a whole multiple of it."""
    end_s = 1.7 * 2 * 5.2e-9 * sum(span.length_m for span in run.spans) + 50e-9
    dt_s = max(1, math.ceil(end_s / TRACE_SAMPLES / 1e-9)) * 1e-9
    at_s = np.arange(-5e-9, end_s, dt_s)
    volts = np.interp(at_s, times_s(reflection.grid), reflection.volts)
    return {
        "dt_ps": round(dt_s * 1e12),
        "t0_ps": -5000,
        "microvolts": [round(value) for value in (volts * STEP_V * 1e6).tolist()],
    }


def _board(description: Description) -> dict[str, Any]:
    found: dict[str, Any] = {"name": description.board}
    if description.board == "bench":
        found |= {"values": asdict(bench_values(bench())), "parts": description.drawn}
    if description.parts:
        found["off"] = {part.reference: round(part.factor * 1_000_000) for part in description.parts}
        found["leaks"] = {part.reference: round(part.leak_na) for part in description.parts if part.leak_na}
    return found


def _foreign(description: Description) -> list[dict[str, Any]]:
    voltages = []
    for cable, plugging in cables_of(description):
        steady = frozenset(number for number, fault in enumerate(cable.faults) if fault.when.always or fault.volt)
        for voltage in foreign_voltages(cable, steady):
            if plugging is None:
                voltages.append(voltage)
                continue
            plug_us, unplug_us = in_us(plugging.plug_at_s), in_us(plugging.unplug_at_s)
            voltages.append(voltage | {"from_us": plug_us, "for_us": unplug_us - plug_us, "every_us": None})
    return voltages


def triangle(values: Matrix) -> list[int | None]:
    """Return the upper triangle of [18][18], row by row, rounded to whole numbers; inf and NaN become None."""
    upper: Sequence[float] = values[UPPER].tolist()
    return [round(value) if math.isfinite(value) else None for value in upper]
