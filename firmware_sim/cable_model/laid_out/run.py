"""The cable laid out from near plug to far plug, as it is at one moment.

A run is spans (even lengths of cable) with a joint before, between and behind them. Joint 0 is the near plug,
the last joint the far plug. Faults sit in joints only: a span is cut where a fault lies. On its left and right
side a joint has conductors by name; at joint 0 the left side, at the last joint the right side, are the plug's
contacts, and there too each goes by the colour crimped into it.
"""

import math
import random
from bisect import bisect_left
from collections.abc import Collection
from dataclasses import dataclass
from itertools import accumulate, pairwise

from firmware_sim.cable_model.written.description import Description, Fault
from firmware_sim.cable_model.written.kinds import Kind, kinds
from firmware_sim.cable_model.written.plugs import ADAPTERS, EMPTY, RJ45, SCREEN, conductor_contacts

CONTACT_COUNT = 2 * len(RJ45)
SPLICE_OHM = 0.005  # a crimped or soldered splice (assumption)


@dataclass(frozen=True, slots=True)
class Bridge:
    """A resistor between two conductors at a joint; on_right: on that side of whatever is open there.

    volt: of a cell in series with it, + at a.
    """

    a: str
    b: str
    ohm: float
    volt: float
    on_right: bool


@dataclass(frozen=True, slots=True)
class Joint:
    """Where spans meet: left conductor -> (right conductor, ohm under full current, ohm at low level).

    A left conductor that is missing goes nowhere; inf ohm = broken here. capacitors: (left, right conductor, pF) of
    those in the place of a conductor.
    """

    through: dict[str, tuple[str, float, float]]
    bridges: tuple[Bridge, ...]
    capacitors: tuple[tuple[str, str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Span:
    """An even length of one kind of cable; c_factor, l_factor: per conductor, what its row and column are scaled by."""

    kind: Kind
    length_m: float
    awg: int
    metal: str
    wet: bool
    c_factor: tuple[float, ...]
    l_factor: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Run:
    """Spans and the len(spans) + 1 joints around them; near, far: tester contact index -> colour in the plug.

    Tester contacts: 0..8 near 1..8 and S, 9..17 far 1..8 and S. far is empty when the far plug is not in the
    tester; far_plug always says which colour the far plug has at which contact, by the name of the RJ45 contact that
    carries the same signal.
    """

    spans: tuple[Span, ...]
    joints: tuple[Joint, ...]
    near: dict[int, str]
    far: dict[int, str]
    far_plug: dict[str, str]
    temperature_c: float


def lay_out(description: Description, active: Collection[int] | None = None) -> Run:
    """Return the run with the faults whose index is in `active` (None: all those that are there from the start)."""
    if active is None:
        active = {number for number, fault in enumerate(description.faults) if fault.when.from_s == 0}
    faults = [fault for number, fault in enumerate(description.faults) if number in active]
    marks, spans = _cut(description, faults)
    orders: dict[float, tuple[str, ...]] = {}
    start_m = 0.0
    for segment in description.segments:
        if segment.order is not None:
            orders[_mark(start_m)] = segment.order
        start_m += segment.length_m
    joints = []
    for place, mark in enumerate(marks):
        here = [fault for fault in faults if _mark(fault.at_m) == mark]
        if place == 0:
            through = _plugged(description, description.near, ("joined", "near"), spans[0].kind)
        elif place == len(spans):
            through = _plugged(description, description.far, ("joined", "far"), spans[-1].kind)
        else:
            through = _spliced(spans[place - 1].kind, spans[place].kind, orders.get(mark))
        series = _with_series(through, here)
        joints.append(Joint(series, _bridges(here, on_right=place == 0), _capacitors(series, here)))
    near_connector, far_connector = description.connectors
    near_plug = _plug(description.near, near_connector, spans[0].kind.screened)
    far_plug = _plug(description.far, far_connector, spans[-1].kind.screened)
    in_tester = description.attached.far == "tester"
    return Run(
        spans=tuple(spans),
        joints=tuple(joints),
        near={RJ45.index(socket): colour for socket, colour in near_plug.items()},
        far={len(RJ45) + RJ45.index(socket): colour for socket, colour in far_plug.items()} if in_tester else {},
        far_plug=far_plug,
        temperature_c=description.temperature_c,
    )


def _plug(colours: tuple[str, ...], connector: str, screened: bool) -> dict[str, str]:
    sockets = ADAPTERS[connector]
    held = zip(conductor_contacts(connector), colours, strict=True)
    plug = {sockets[contact]: colour for contact, colour in held if colour != EMPTY}
    if screened and "S" in sockets.values():
        plug["S"] = SCREEN
    return plug


def _mark(at_m: float) -> float:
    return round(at_m, 6)


def _cut(description: Description, faults: list[Fault]) -> tuple[list[float], list[Span]]:
    """Cut the segments where faults lie; return the places of the joints (metres) and the spans between them."""
    segments = description.segments
    ends = [_mark(end_m) for end_m in accumulate(segment.length_m for segment in segments)]
    marks = sorted({0.0, *ends, *(_mark(fault.at_m) for fault in faults)})
    spans = []
    for left_m, right_m in pairwise(marks):
        segment = segments[bisect_left(ends, right_m)]
        kind = kinds()[segment.cable]
        factors = pair_factors(description, kind)
        spans.append(Span(kind, right_m - left_m, segment.awg, segment.metal, segment.wet, *factors))
    return marks, spans


def pair_factors(description: Description, kind: Kind) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Draw each pair's own delay and capacitance; return factors for C and for L, per conductor in matrix order.

    Delay goes with both matrices, capacitance against inductance, so that the two spreads stay apart.
    """
    draw = random.Random(f"{description.seed} {kind.name}")
    c_factor, l_factor = [], []
    for _ in kind.pairs:
        delay = 1 + description.delay_spread * draw.gauss()
        capacitance = 1 + description.capacitance_spread * draw.gauss()
        c_factor += [delay * capacitance] * 2
        l_factor += [delay / capacitance] * 2
    return tuple(c_factor), tuple(l_factor)


def _plugged(
    description: Description, plug: tuple[str, ...], screens: tuple[str, ...], kind: Kind
) -> dict[str, tuple[str, float, float]]:
    held = {*plug, *([SCREEN] if description.screen in screens else [])} & set(kind.conductors)
    return {
        colour: (colour, description.contact_ohm, description.contact_ohm)
        for colour in kind.conductors
        if colour in held
    }


def _spliced(before: Kind, after: Kind, order: tuple[str, ...] | None) -> dict[str, tuple[str, float, float]]:
    if order is None:
        ohm = 0.0 if before == after else SPLICE_OHM
        return {colour: (colour, ohm, ohm) for colour in before.conductors if colour in after.conductors}
    wires = [colour for colour in before.conductors if colour != SCREEN]
    spliced = {a: (b, SPLICE_OHM, SPLICE_OHM) for a, b in zip(wires, order, strict=True) if b != EMPTY}
    if before.screened and after.screened:
        spliced[SCREEN] = (SCREEN, SPLICE_OHM, SPLICE_OHM)
    return spliced


def _with_series(
    through: dict[str, tuple[str, float, float]], faults: list[Fault]
) -> dict[str, tuple[str, float, float]]:
    result = dict(through)
    for fault in faults:
        if fault.kind not in _SERIES:
            continue
        broken = fault.kind in ("open", "screen-open", "capacitor")
        added, low_added = (math.inf, math.inf) if broken else (fault.broken_ohm, fault.ohm)
        for colour in fault.conductors:
            if colour in result:
                target, ohm, low_ohm = result[colour]
                result[colour] = (target, ohm + added, low_ohm + low_added)
    return result


def _bridges(faults: list[Fault], on_right: bool) -> tuple[Bridge, ...]:
    return tuple(
        Bridge(a, b, fault.ohm, fault.volt, on_right)
        for fault in faults
        if fault.kind in _BRIDGES
        for a, b in pairwise(fault.conductors)
    )


def _capacitors(
    through: dict[str, tuple[str, float, float]], faults: list[Fault]
) -> tuple[tuple[str, str, float], ...]:
    return tuple(
        (colour, through[colour][0], fault.pf)
        for fault in faults
        if fault.kind == "capacitor"
        for colour in fault.conductors
        if colour in through
    )


_SERIES = ("open", "resistance", "film", "screen-open", "capacitor")
_BRIDGES = ("short", "leak", "terminator")
