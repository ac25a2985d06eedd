"""The description of a virtual cable: its file (see `cable_file`) checked as a whole, every default set."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from firmware_sim.cable_model.written.attached import Attached, resolve_attached
from firmware_sim.cable_model.written.cable_file import (
    LONGEST_M,
    CableFile,
    FaultTable,
    Line,
    PartTable,
    Plugging,
    SegmentTable,
)
from firmware_sim.cable_model.written.kinds import Kind, kinds
from firmware_sim.cable_model.written.plugs import (
    CONTACTS,
    EMPTY,
    SCREEN,
    TERMINATIONS,
    conductor_contacts,
    order_named,
)
from firmware_sim.cable_model.written.toml_file import missing, read_toml, shaped, wrong
from firmware_sim.cable_model.written.when import When, checked_when

NEEDED_OHM = ("resistance", "leak", "film")
CONDUCTOR_COUNTS = {"short": (2, 9), "leak": (2, 2), "terminator": (2, 2)}  # least, most; others 1 to 9
TERMINATOR_OHM = 120.0
BROKEN_FILM_OHM = 0.05
# What the simulated bench board feels of its parts.
LEAKING_PARTS = (*(f"D{number}" for number in range(1, 19)), "U4", "U5")
FELT_PARTS = (
    *(f"R{number}" for number in (*range(1, 19), *range(21, 39), *range(41, 47), *range(48, 52), *range(53, 59))),
    *(f"C{number}" for number in range(1, 5)),
    *LEAKING_PARTS,
    *("U2", "U3", "U6", "U7", "Q1"),
)


@dataclass(frozen=True, slots=True)
class Segment:
    """A length of one kind of cable; `order` as in the module's text, None = each to its own colour."""

    cable: str
    length_m: float
    awg: int
    metal: str
    wet: bool
    order: tuple[str, ...] | None


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault at at_m from the near plug; end = "near" or "far" when it sits at a plug (at_m is then 0 or all)."""

    kind: str
    conductors: tuple[str, ...]
    at_m: float
    end: str | None
    ohm: float
    broken_ohm: float
    volt: float
    pf: float
    when: When


@dataclass(frozen=True, slots=True)
class Description:
    """One virtual cable. near, far: colour per contact without the screen's, "-" = empty. folder: where it lies."""

    source: str
    folder: Path
    title: str
    board: str
    near: tuple[str, ...]
    far: tuple[str, ...]
    connectors: tuple[str, str]
    screen: str
    seed: int
    temperature_c: float
    contact_ohm: float
    delay_spread: float
    capacitance_spread: float
    pin_pf: float
    stray_pf: float
    segments: tuple[Segment, ...]
    faults: tuple[Fault, ...]
    attached: Attached
    line: Line
    bench: tuple[Plugging, ...]
    parts: tuple[PartTable, ...]
    drawn: int

    @property
    def length_m(self) -> float:
        """Length of the whole run, metres."""
        return sum(segment.length_m for segment in self.segments)


def read_description(path: Path) -> Description:
    """Read a description from a file; DescriptionError names file, key and what is allowed."""
    return description_in(str(path), read_toml(path), path.parent)


def description_in(source: str, values: dict[str, Any], folder: Path) -> Description:
    """Return the description in a TOML table; source: what errors call it. folder: where the files it names lie."""
    file = shaped(source, values, CableFile)
    connectors = file.connectors
    if len(connectors) != 2 or not set(connectors) <= set(CONTACTS):
        raise wrong(source, "connectors", list(connectors), "two of " + ", ".join(CONTACTS))
    if not file.segment and not file.bench:
        raise missing(source, "segment", "at least one [[segment]], or the [[bench]] of a lot")
    segments = _segments(source, file.segment)
    first, last = (kinds()[segment.cable] for segment in ((segments or [_NO_SEGMENT])[k] for k in (0, -1)))
    default = None if segments else "T568B"
    near = _termination(source, "near", default if file.near is None else file.near, connectors[0], first)
    far = _termination(source, "far", default if file.far is None else file.far, connectors[1], last)
    screened = all(kinds()[segment.cable].screened for segment in segments)
    screen = file.screen or ("joined" if screened else "none")
    if segments and screen != "none" and not (first.screened or last.screened):
        raise wrong(source, "screen", screen, "none, since no segment has a screen")
    for number, plugging in enumerate(file.bench, 1):
        if plugging.unplug_at_s < plugging.plug_at_s:
            allowed = f"a number from {plugging.plug_at_s:g} to 1e+06"
            raise wrong(source, f"bench[{number}].unplug_at_s", plugging.unplug_at_s, allowed)
    return Description(
        source=source,
        folder=folder,
        title=file.title,
        board=file.board,
        near=near,
        far=far,
        connectors=(connectors[0], connectors[1]),
        screen=screen,
        seed=file.seed,
        temperature_c=file.temperature_c,
        contact_ohm=file.contact_ohm,
        delay_spread=file.delay_spread,
        capacitance_spread=file.capacitance_spread,
        pin_pf=file.pin_pf,
        stray_pf=file.stray_pf,
        segments=segments,
        faults=tuple(_fault(source, f"fault[{n}].", table, segments) for n, table in enumerate(file.fault, 1)),
        attached=resolve_attached(source, file.attached, connectors[1]),
        line=file.line,
        bench=file.bench,
        parts=_parts(source, file),
        drawn=file.drawn,
    )


_NO_SEGMENT = Segment("UTP", 0.0, 24, "copper", False, None)


def _parts(source: str, file: CableFile) -> tuple[PartTable, ...]:
    """Return the parts of the board that are off, each checked against those that its simulator feels."""
    for number, part in enumerate(file.part, 1):
        place = f"part[{number}]."
        if file.board != "bench":
            raise wrong(source, place + "reference", part.reference, 'nothing: only board = "bench" has parts by name')
        if part.reference not in FELT_PARTS:
            raise wrong(source, place + "reference", part.reference, "one of " + ", ".join(FELT_PARTS))
        if part.leak_na and part.reference not in LEAKING_PARTS:
            raise wrong(source, place + "leak_na", part.leak_na, "nothing: only D1 to D18, U4 and U5 leak")
        if part.reference[0] in "UQ" and part.factor not in (0, 1):
            raise wrong(source, place + "factor", part.factor, "0 (it is missing) or 1")
    return file.part


def _wires(kind: Kind) -> list[str]:
    return [colour for colour in kind.conductors if colour != SCREEN]


def _is_order(order: tuple[str, ...], count: int, colours: Iterable[str]) -> bool:
    """Return whether an order names `count` different colours out of those given, "-" for none."""
    used = [colour for colour in order if colour != EMPTY]
    return len(order) == count and len(set(used)) == len(used) and set(used) <= set(colours)


def _termination(
    source: str, key: str, value: str | tuple[str, ...] | None, connector: str, kind: Kind
) -> tuple[str, ...]:
    named = "one of " + ", ".join(TERMINATIONS) + ", or a list of colours"
    if value is None:
        raise missing(source, key, named)
    if isinstance(value, str):
        if value not in TERMINATIONS:
            raise wrong(source, key, value, named)
        value = order_named(value, connector)
    count, known = len(conductor_contacts(connector)), _wires(kind)
    if not _is_order(value, count, known):
        allowed = f'{count} different colours in contact order out of {", ".join(known)}, or "-" for none'
        raise wrong(source, key, list(value), allowed)
    return value


def _segments(source: str, tables: tuple[SegmentTable, ...]) -> tuple[Segment, ...]:
    segments: list[Segment] = []
    for number, table in enumerate(tables, 1):
        place = f"segment[{number}]."
        if table.cable not in kinds():
            raise wrong(source, place + "cable", table.cable, "one of " + ", ".join(kinds()))
        awg = kinds()[table.cable].awg if table.awg is None else table.awg
        segment = Segment(table.cable, table.length_m, awg, table.metal, table.wet, table.order)
        _check_order(source, place + "order", segments[-1] if segments else None, segment)
        segments.append(segment)
        if sum(part.length_m for part in segments) > LONGEST_M:
            allowed = f"what keeps the whole run within {LONGEST_M:g} m"
            raise wrong(source, place + "length_m", table.length_m, allowed)
    return tuple(segments)


def _check_order(source: str, key: str, before: Segment | None, segment: Segment) -> None:
    own = _wires(kinds()[segment.cable])
    if segment.order is None:
        if before is not None and set(own) != set(_wires(kinds()[before.cable])):
            raise missing(source, key, "the list of colours to splice, since the segments' colours differ")
        return
    if before is None:
        raise wrong(source, key, list(segment.order), "nothing: the first segment has no joint before it")
    places = _wires(kinds()[before.cable])
    if not _is_order(segment.order, len(places), own):
        allowed = f'{len(places)} different colours out of {", ".join(own)}, or "-", for {", ".join(places)}'
        raise wrong(source, key, list(segment.order), allowed)


def _fault(source: str, place: str, table: FaultTable, segments: tuple[Segment, ...]) -> Fault:
    length_m = sum(segment.length_m for segment in segments)
    if table.at_m is not None and not 0 <= table.at_m <= length_m:
        raise wrong(source, place + "at_m", table.at_m, f"a number from 0 to {length_m:g}")
    if table.at_m is not None and table.end is not None:
        raise wrong(source, place + "end", table.end, "nothing beside at_m: a fault is in one place")
    end = table.end or ("far" if table.at_m is None else None)
    at_m = table.at_m if table.at_m is not None else 0.0 if end == "near" else length_m
    for key, value, bearer in (
        ("broken_ohm", table.broken_ohm, "film"),
        ("volt", table.volt, "leak"),
        ("pf", table.pf, "capacitor"),
    ):
        if value is not None and table.kind != bearer:
            raise wrong(source, place + key, value, f"nothing: only a {bearer} has it")
    conductors = _fault_conductors(source, place + "conductors", table, kinds()[_segment_at(segments, at_m, end).cable])
    if table.ohm is None and table.kind in NEEDED_OHM:
        raise missing(source, place + "ohm", f"a number, which a {table.kind} needs")
    if table.pf is None and table.kind == "capacitor":
        raise missing(source, place + "pf", "a number, which a capacitor needs")
    ohm = table.ohm if table.ohm is not None else TERMINATOR_OHM if table.kind == "terminator" else 0.0
    if table.kind in ("leak", "terminator") and ohm == 0:
        raise wrong(source, place + "ohm", ohm, "more than 0; without resistance it is a short")
    broken_ohm = table.broken_ohm
    if broken_ohm is None:
        broken_ohm = BROKEN_FILM_OHM if table.kind == "film" else ohm
    when = checked_when(source, place, table)
    return Fault(table.kind, conductors, at_m, end, ohm, broken_ohm, table.volt or 0.0, table.pf or 0.0, when)


def _fault_conductors(source: str, key: str, table: FaultTable, kind: Kind) -> tuple[str, ...]:
    """Return the conductors a fault is in, those of the cable there."""
    conductors = table.conductors
    if table.kind == "screen-open":
        if conductors is not None:
            raise wrong(source, key, list(conductors), "nothing: it is the screen")
        conductors = (SCREEN,)
    if conductors is None:
        raise missing(source, key, "a list of colours")
    low, high = CONDUCTOR_COUNTS.get(table.kind, (1, 9))
    if not low <= len(conductors) <= high or len(set(conductors)) != len(conductors):
        counts = f"{low}" if low == high else f"{low} to {high}"
        raise wrong(source, key, list(conductors), f"{counts} different colours")
    for colour in conductors:
        if colour not in kind.conductors:
            raise wrong(source, key, colour, "conductors of the cable there: " + ", ".join(kind.conductors))
    return conductors


def _segment_at(segments: Iterable[Segment], at_m: float, end: str | None) -> Segment:
    """Return the segment a place lies in; at a joint, the one before it, at the near plug the first."""
    start_m = 0.0
    segment = _NO_SEGMENT
    for segment in segments:
        start_m += segment.length_m
        if end == "near" or (end is None and at_m <= start_m):
            break
    return segment
