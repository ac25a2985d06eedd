"""The description of a virtual cable: a TOML file, read strictly into frozen values.

Keys beyond the bare ones, all optional:
    title                what the list of cables says about it
    contact_ohm          resistance of each plug contact (0.01)
    delay_spread, capacitance_spread   relative standard deviation drawn per pair from `seed` (0)
    pin_pf, stray_pf     a tester contact's capacitance to the tester's ground (10); that ground's to the cable's
                         surroundings or its screen, beside what the screen's contacts add (20)
    segment.order        the conductors of this segment in the order of the conductors before it that they are
                         spliced to, "-" for one that is left; a list as long as the segment before has conductors
    fault.end            "near" or "far": at the plug there, in place of at_m; neither means "far"
    fault.kind           also "terminator": a resistor meant to be there between two conductors
    fault.ohm            short: of the bridge (0); resistance, leak: needed; film: before it breaks down;
                         terminator: 120
    fault.broken_ohm     of a film under full current (0.05)
    fault.volt           a leak that is also a cell, as salt water makes it (0)
    attached.port        unpowered equipment: "four-pair", "two-pair" or "tied" (4+5 and 7+8 tied, 75 ohm each)
    attached.contact, other   far plug contacts the voltage stands between; no `other`: the tester's ground
"""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from firmware_sim.cable_model.attached import Attached, take_attached
from firmware_sim.cable_model.copper import METALS
from firmware_sim.cable_model.kinds import Kind, kinds
from firmware_sim.cable_model.plugs import CONTACTS, EMPTY, SCREEN, TERMINATIONS, conductor_contacts, order_named
from firmware_sim.cable_model.toml_table import Table, parse_table, read_table
from firmware_sim.cable_model.when import When, take_when

LONGEST_M = 350.0
FAULTS = ("open", "short", "resistance", "leak", "film", "screen-open", "terminator")
SCREENS = ("joined", "near", "far", "none")
NEEDED_OHM = ("resistance", "leak", "film")


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
    when: When


@dataclass(frozen=True, slots=True)
class Line:
    """How the serial line behaves: drop and flip are chances per byte, die_after counts answers (0 = never)."""

    pace: str
    drop: float
    flip: float
    stall_ms: float
    stale: bool
    traceback: bool
    die_after: int
    refuse_second: bool


@dataclass(frozen=True, slots=True)
class Plugging:
    """A cable of a lot plugged in and out; half_seated: the plug ("near", "far", "none") that is not home."""

    cable: str
    plug_at_s: float
    bounce_ms: float
    half_seated: str
    unplug_at_s: float


@dataclass(frozen=True, slots=True)
class Description:
    """One virtual cable. near, far: colour per contact without the screen's, "-" = empty. folder: where it lies."""

    source: str
    folder: Path
    title: str
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

    @property
    def length_m(self) -> float:
        """Length of the whole run, metres."""
        return sum(segment.length_m for segment in self.segments)


def read_description(path: Path) -> Description:
    """Read a description from a file; DescriptionError names file, key and what is allowed."""
    return _description(read_table(path), path.parent)


def parse_description(text: str, source: str = "description", folder: Path = Path()) -> Description:
    """Read a description from TOML text."""
    return _description(parse_table(source, text.encode("utf-8")), folder)


def _description(table: Table, folder: Path) -> Description:
    table.take_whole("format", 1, 1)
    title = table.take_text("title", "")
    bench = tuple(_plugging(part) for part in table.take_tables("bench"))
    connectors = table.take_words("connectors", ("rj45", "rj45"))
    if len(connectors) != 2 or not set(connectors) <= set(CONTACTS):
        raise table.wrong("connectors", list(connectors), "two of " + ", ".join(CONTACTS))
    segments = _segments(table.take_tables("segment"))
    if not segments and not bench:
        raise table.wrong("segment", "missing", "at least one [[segment]], or the [[bench]] of a lot")
    first, last = (kinds()[(segments[0] if segments else _NO_SEGMENT).cable], _kind_of_last(segments))
    default = "T568B" if not segments else None
    near = _termination(table, "near", connectors[0], first, default)
    far = _termination(table, "far", connectors[1], last, default)
    screened = all(kinds()[segment.cable].screened for segment in segments)
    screen = table.take_choice("screen", SCREENS, "joined" if screened else "none")
    if segments and screen != "none" and not (first.screened or last.screened):
        raise table.wrong("screen", screen, "none, since no segment has a screen")
    length_m = sum(segment.length_m for segment in segments)
    description = Description(
        source=table.source,
        folder=folder,
        title=title,
        near=near,
        far=far,
        connectors=(connectors[0], connectors[1]),
        screen=screen,
        seed=table.take_whole("seed", 0, 2**31 - 1, 1),
        temperature_c=table.take_number("temperature_c", -40, 90, 20.0),
        contact_ohm=table.take_number("contact_ohm", 0, 10, 0.01),
        delay_spread=table.take_number("delay_spread", 0, 0.1, 0.0),
        capacitance_spread=table.take_number("capacitance_spread", 0, 0.2, 0.0),
        pin_pf=table.take_number("pin_pf", 0, 200, 10.0),
        stray_pf=table.take_number("stray_pf", 0, 10_000, 20.0),
        segments=segments,
        faults=tuple(_fault(part, segments, length_m) for part in table.take_tables("fault")),
        attached=take_attached(table.take_table("attached"), connectors[1]),
        line=_line(table.take_table("line")),
        bench=bench,
    )
    table.finish()
    return description


_NO_SEGMENT = Segment("UTP", 0.0, 24, "copper", False, None)


def _kind_of_last(segments: tuple[Segment, ...]) -> Kind:
    return kinds()[(segments[-1] if segments else _NO_SEGMENT).cable]


def _termination(table: Table, key: str, connector: str, kind: Kind, default: str | None) -> tuple[str, ...]:
    value = table.take_text_or_words(key, default)
    places = conductor_contacts(connector)
    if isinstance(value, str):
        if value not in TERMINATIONS:
            raise table.wrong(key, value, "one of " + ", ".join(TERMINATIONS) + ", or a list of colours")
        value = order_named(value, connector)
    known = [color for color in kind.conductors if color != SCREEN]
    used = [color for color in value if color != EMPTY]
    if len(value) != len(places) or len(set(used)) != len(used) or not set(used) <= set(known):
        allowed = f'{len(places)} different colours in contact order out of {", ".join(known)}, or "-" for none'
        raise table.wrong(key, list(value), allowed)
    return value


def _segments(tables: tuple[Table, ...]) -> tuple[Segment, ...]:
    segments: list[Segment] = []
    for table in tables:
        cable = table.take_choice("cable", kinds())
        length_m = table.take_number("length_m", 0.01, LONGEST_M)
        order = table.take_words("order") if table.has("order") else None
        segment = Segment(
            cable,
            length_m,
            table.take_whole("awg", 10, 40, kinds()[cable].awg),
            table.take_choice("metal", METALS, "copper"),
            table.take_flag("wet", False),
            order,
        )
        _check_order(table, segments[-1] if segments else None, segment)
        table.finish()
        segments.append(segment)
        if sum(part.length_m for part in segments) > LONGEST_M:
            raise table.wrong("length_m", length_m, f"what keeps the whole run within {LONGEST_M:g} m")
    return tuple(segments)


def _check_order(table: Table, before: Segment | None, segment: Segment) -> None:
    own = [color for color in kinds()[segment.cable].conductors if color != SCREEN]
    if segment.order is None:
        if before is not None and set(own) != set(kinds()[before.cable].conductors) - {SCREEN}:
            raise table.wrong("order", "missing", "the list of colours to splice, since the segments' colours differ")
        return
    if before is None:
        raise table.wrong("order", list(segment.order), "nothing: the first segment has no joint before it")
    places = [color for color in kinds()[before.cable].conductors if color != SCREEN]
    used = [color for color in segment.order if color != EMPTY]
    if len(segment.order) != len(places) or len(set(used)) != len(used) or not set(used) <= set(own):
        allowed = f'{len(places)} different colours out of {", ".join(own)}, or "-", for {", ".join(places)}'
        raise table.wrong("order", list(segment.order), allowed)


def _fault(table: Table, segments: tuple[Segment, ...], length_m: float) -> Fault:
    kind = table.take_choice("kind", FAULTS)
    at_m = table.take_optional_number("at_m", 0, length_m)
    end = table.take_choice("end", ("near", "far"), "far") if table.has("end") or at_m is None else None
    if at_m is not None and end is not None:
        raise table.wrong("end", end, "nothing beside at_m: a fault is in one place")
    if at_m is None:
        at_m = 0.0 if end == "near" else length_m
    table_kind = kinds()[_segment_at(segments, at_m, end).cable]
    if kind == "screen-open":
        conductors: tuple[str, ...] = (SCREEN,)
    else:
        conductors = table.take_words("conductors")
    low, high = {"short": (2, 9), "leak": (2, 2), "terminator": (2, 2)}.get(kind, (1, 9))
    if not low <= len(conductors) <= high or len(set(conductors)) != len(conductors):
        counts = f"{low}" if low == high else f"{low} to {high}"
        raise table.wrong("conductors", list(conductors), f"{counts} different colours")
    for color in conductors:
        if color not in table_kind.conductors:
            allowed = "conductors of the cable there: " + ", ".join(table_kind.conductors)
            raise table.wrong("conductors", color, allowed)
    default_ohm = {"terminator": 120.0}.get(kind, 0.0)
    ohm = table.take_number("ohm", 0, 1e12, None if kind in NEEDED_OHM else default_ohm)
    if kind in ("leak", "terminator") and ohm == 0:
        raise table.wrong("ohm", ohm, "more than 0; without resistance it is a short")
    broken_ohm = table.take_number("broken_ohm", 0, 1e6, 0.05) if kind == "film" else ohm
    volt = table.take_number("volt", -1.0, 1.0, 0.0) if kind == "leak" else 0.0
    fault = Fault(kind, conductors, at_m, end, ohm, broken_ohm, volt, take_when(table))
    table.finish()
    return fault


def _segment_at(segments: Iterable[Segment], at_m: float, end: str | None) -> Segment:
    """Return the segment a place lies in; at a joint, the one before it, at the near plug the first."""
    start_m = 0.0
    segment = _NO_SEGMENT
    for segment in segments:
        start_m += segment.length_m
        if end == "near" or (end is None and at_m <= start_m):
            break
    return segment


def _line(table: Table) -> Line:
    line = Line(
        table.take_choice("pace", ("fast", "real"), "fast"),
        table.take_number("drop", 0, 1, 0.0),
        table.take_number("flip", 0, 1, 0.0),
        table.take_number("stall_ms", 0, 600_000, 0.0),
        table.take_flag("stale", False),
        table.take_flag("traceback", False),
        table.take_whole("die_after", 0, 10**9, 0),
        table.take_flag("refuse_second", False),
    )
    table.finish()
    return line


def _plugging(table: Table) -> Plugging:
    plug_at_s = table.take_number("plug_at_s", 0, 1e6)
    plugging = Plugging(
        table.take_text("cable"),
        plug_at_s,
        table.take_number("bounce_ms", 0, 10_000, 0.0),
        table.take_choice("half_seated", ("near", "far", "none"), "none"),
        table.take_number("unplug_at_s", plug_at_s, 1e6),
    )
    table.finish()
    return plugging
