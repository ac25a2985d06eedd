"""What the file of a virtual cable may hold: its tables and keys, each with its bounds.

Keys beyond the bare ones, all optional:
    title                what the list of cables says about it
    board                the tester's board: "reference", "bench", "bare", or "bare-esp32" for another chip
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
    fault.pf             of a capacitor in a conductor's place: needed
    fault.volt           a leak that is also a cell, as salt water makes it (0)
    drawn                a number that the bench board's parts are drawn from, within their tolerances; 0 = none is off
    part.reference       of the bench board's netlist, such as "R21", a part that is not as it should be:
    part.factor          what its value is multiplied by (1), 0 = it is missing; of chips 0 or 1
    part.leak_na         of a clamp or a multiplexer, nanoampere towards the rail, negative towards ground (0)
    attached.port        unpowered equipment: "four-pair", "two-pair" or "tied" (4+5 and 7+8 tied, 75 ohm each)
    attached.contact, other   far plug contacts the voltage stands between; no `other`: the tester's ground

What hangs together (a fault within the run, colours that the cable has) `description` checks.
"""

from typing import Annotated, Literal, get_args

from msgspec import Meta, Struct

from firmware_sim.cable_model.written.when import Start, When

LONGEST_M = 350.0
BoardName = Literal["reference", "bench", "bare", "bare-esp32"]
BOARDS = get_args(BoardName)
Words = tuple[str, ...]
Chance = Annotated[float, Meta(ge=0, le=1)]
Ohm = Annotated[float, Meta(ge=0, le=1e12)]


class SegmentTable(Struct, frozen=True, forbid_unknown_fields=True):
    """[[segment]]; awg None = the kind's own."""

    cable: str
    length_m: Annotated[float, Meta(ge=0.01, le=LONGEST_M)]
    awg: Annotated[int, Meta(ge=10, le=40)] | None = None
    metal: Literal["copper", "copper-clad-aluminium"] = "copper"
    wet: bool = False
    order: Words | None = None


class FaultTable(When, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """[[fault]]; None = not given."""

    kind: Literal["open", "short", "resistance", "leak", "film", "screen-open", "terminator", "capacitor"]
    at_m: float | None = None
    end: Literal["near", "far"] | None = None
    conductors: Words | None = None
    ohm: Ohm | None = None
    broken_ohm: Annotated[float, Meta(ge=0, le=1e6)] | None = None
    volt: Annotated[float, Meta(ge=-1, le=1)] | None = None
    pf: Annotated[float, Meta(ge=0.01, le=1e5)] | None = None


class AttachedTable(When, frozen=True, forbid_unknown_fields=True):
    """[attached]; None = what the kind of voltage brings with it."""

    far: Literal["tester", "open", "joined", "remote-A", "remote-B", "remote-C", "remote-D", "equipment"] = "tester"
    port: Literal["four-pair", "two-pair", "tied"] = "four-pair"
    kind: Literal["none", "dc", "ac", "injector", "poe-probe", "link", "cell"] = "none"
    contact: str | Words | None = None
    other: str | Words | None = None
    volt: Annotated[float, Meta(ge=-400, le=400)] | None = None
    source_ohm: Annotated[float, Meta(ge=0, le=1e9)] | None = None


class PartTable(Struct, frozen=True, forbid_unknown_fields=True):
    """[[part]]: a part of the bench board that is off."""

    reference: str
    factor: Annotated[float, Meta(ge=0, le=100)] = 1.0
    leak_na: Annotated[float, Meta(ge=-1e6, le=1e6)] = 0.0


class Line(Struct, frozen=True, forbid_unknown_fields=True):
    """[line]: how the serial line behaves; drop, flip: chances per byte, die_after counts answers (0 = never)."""

    pace: Literal["fast", "real"] = "fast"
    drop: Chance = 0.0
    flip: Chance = 0.0
    stall_ms: Annotated[float, Meta(ge=0, le=600_000)] = 0.0
    stale: bool = False
    traceback: bool = False
    die_after: Annotated[int, Meta(ge=0, le=10**9)] = 0
    refuse_second: bool = False


class Plugging(Struct, frozen=True, forbid_unknown_fields=True):
    """[[bench]]: a cable of a lot plugged in and out; half_seated: the plug that is not home."""

    cable: str
    plug_at_s: Start
    unplug_at_s: Start
    bounce_ms: Annotated[float, Meta(ge=0, le=10_000)] = 0.0
    half_seated: Literal["near", "far", "none"] = "none"


class CableFile(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The whole file; near, far: a termination's name or colours in contact order."""

    format: Literal[1]
    title: str = ""
    board: BoardName = "bench"
    near: str | Words | None = None
    far: str | Words | None = None
    connectors: Words = ("rj45", "rj45")
    screen: Literal["joined", "near", "far", "none"] | None = None
    seed: Annotated[int, Meta(ge=0, le=2**31 - 1)] = 1
    temperature_c: Annotated[float, Meta(ge=-40, le=90)] = 20.0
    contact_ohm: Annotated[float, Meta(ge=0, le=10)] = 0.01
    delay_spread: Annotated[float, Meta(ge=0, le=0.1)] = 0.0
    capacitance_spread: Annotated[float, Meta(ge=0, le=0.2)] = 0.0
    pin_pf: Annotated[float, Meta(ge=0, le=200)] = 10.0
    stray_pf: Annotated[float, Meta(ge=0, le=10_000)] = 20.0
    segment: tuple[SegmentTable, ...] = ()
    fault: tuple[FaultTable, ...] = ()
    attached: AttachedTable = AttachedTable()
    line: Line = Line()
    bench: tuple[Plugging, ...] = ()
    part: tuple[PartTable, ...] = ()
    drawn: Annotated[int, Meta(ge=0, le=2**31 - 1)] = 0
