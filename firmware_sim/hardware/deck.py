"""A whole board as a deck for ngspice: every part of its netlist, its pins as a program holds them, its jacks open.

The models are in `models.lib`. Nets keep their names; GND is node 0, 3V3 is rail_3V3. What the world is (sources, a
cable) and what is asked of the simulator are lines of the caller's own, on the nodes N1..N8, NS, F1..F8, FS.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from firmware_sim.hardware.part import FREE, GROUND, Board, Part, Use
from firmware_sim.hardware.values import SHUNT_REFERENCE_MV

MODELS = Path(__file__).parent / "models.lib"
Level = str  # "low", "high" or "float"
Held = Level | tuple[tuple[float, Level], ...]  # always so, or from each moment on: ((0.0, "low"), (1e-5, "float"))
EDGE_S = 1e-7


@dataclass(frozen=True)
class Assumed:
    """What no part says: ohms of pins and switches, farads, amperes, volts. All assumed, and swept where it matters.

    dead_ohm: what a Pico without power puts across its rail. leak_a flows from the rail into each port pin,
    common_leak_a into each common. bare_pads: the Pico's pins have no diode to their rail. reset_pull_ohm: to ground at
    every pin of the Pico that nothing drives, as after a reset. limited: amplifiers stop at their rails,
    floor_v from them, and have a gain of 1000 only; else they have no limits and 100 dB.
    """

    supply_v: float = 3.3
    powered: bool = True
    load_ohm: float = 150.0
    dead_ohm: float = 150.0
    low_ohm: Mapping[str, float] = field(default_factory=dict)
    high_ohm: Mapping[str, float] = field(default_factory=dict)
    port_low_ohm: float = 60.0
    port_high_ohm: float = 90.0
    pico_ohm: float = 40.0
    channel_ohm: Mapping[str, float] = field(default_factory=dict)
    leak_a: float = 1e-9
    common_leak_a: float = 1e-9
    channel_f: float = 5e-12
    port_f: float = 8e-12
    contact_f: float = 45e-12
    common_f: float = 75e-12
    offset_v: Mapping[str, float] = field(default_factory=dict)
    limited: bool = False
    floor_v: float = 0.0
    fet_threshold_v: float = -0.8
    shunt_reference_v: float = SHUNT_REFERENCE_MV / 1000
    bare_pads: bool = True
    reset_pull_ohm: float | None = None


@dataclass(frozen=True)
class Program:
    """What a program does to its pins: levels by the net of the pin, the rest float; a channel of each multiplexer."""

    held: Mapping[str, Held] = field(default_factory=dict)
    channels: Mapping[str, int] = field(default_factory=dict)  # by the common's net; 15 parks


def deck(
    board: Board,
    program: Program,
    assumed: Assumed = Assumed(),
    world: str = "",
    analysis: str = ".op",
    factors: Mapping[str, float] | None = None,
) -> str:
    """Return the text of a deck; factors: what single parts are off by, by reference (1.01 for one percent up).

    A reference in factors that the board has not is a KeyError; so is a held net that no pin drives.
    """
    by = dict(factors or {})
    for reference in by:
        board.part(reference)
    driven = {net for part in board.parts for net in _drivers(part)}
    unknown = set(program.held) - driven
    if unknown:
        raise KeyError(f"no pin of {board.name} drives {' '.join(sorted(unknown))}")
    lines = [f"* {board.name}: made from its netlist", f".param fet_threshold={assumed.fet_threshold_v}"]
    lines += [f".param shunt_reference={assumed.shunt_reference_v}", MODELS.read_text(encoding="ascii")]
    for part in board.parts:
        lines += _WRITERS[part.kind.name](part, program, assumed, by.get(part.reference, 1.0))
    lines += [world.strip(), analysis.strip(), ".end"]
    return "\n".join(line for line in lines if line) + "\n"


def idle(board: Board) -> Program:
    """Return what a program does between measurements: contacts low, screens let go, VC on where it is switched."""
    driven = {net for part in board.parts for net in _drivers(part)}
    contacts = [net for net in sorted(driven) if net.endswith("_P") and net not in ("NS_P", "FS_P")]
    return Program(dict.fromkeys([*contacts, *(["GATE"] if "GATE" in driven else [])], "low"))


def _node(net: str) -> str:
    return "0" if net == GROUND else f"rail_{net}" if net[0].isdigit() else net


def _drivers(part: Part) -> Iterator[str]:
    if part.kind.name in ("port", "controller"):
        for pin, net in zip(part.kind.pins, part.nets, strict=True):
            if pin.use is Use.BIDIRECTIONAL and net != FREE:
                yield net


def _resistor(part: Part, _: Program, __: Assumed, factor: float) -> Iterator[str]:
    a, b = map(_node, part.nets)
    yield f"r_{part.reference} {a} {b} {(part.kind.quantity or 0) * factor:.10g}"


def _network(part: Part, _: Program, __: Assumed, factor: float) -> Iterator[str]:
    for section in range(8):
        a, b = part.nets[section], part.nets[15 - section]
        if FREE not in (a, b):
            yield f"r_{part.reference}_{section + 1} {_node(a)} {_node(b)} {(part.kind.quantity or 0) * factor:.10g}"


def _capacitor(part: Part, _: Program, __: Assumed, factor: float) -> Iterator[str]:
    a, b = map(_node, part.nets)
    yield f"c_{part.reference} {a} {b} {(part.kind.quantity or 0) * factor:.10g}"


def _clamp(part: Part, _: Program, __: Assumed, factor: float) -> Iterator[str]:
    anode, cathode, middle = map(_node, part.nets)
    yield f"d_{part.reference}_1 {anode} {middle} clamp area={factor:g}"
    yield f"d_{part.reference}_2 {middle} {cathode} clamp area={factor:g}"


def _jack(part: Part, _: Program, assumed: Assumed, __: float) -> Iterator[str]:
    for net in part.nets:
        yield f"c_{part.reference}_{net} {_node(net)} 0 {assumed.contact_f:g}"


def _diodes(name: str, node: str, rail: str, ground: str) -> Iterator[str]:
    if node not in (rail, ground):
        yield f"d_{name}_u {node} {rail} chip"
        yield f"d_{name}_d {ground} {node} chip"


def _pin(name: str, node: str, held: Held, high: tuple[str, float], low: tuple[str, float]) -> Iterator[str]:
    """Give the driver of a pin; high and low: the node that it connects to, through how many ohms."""
    steps = ((0.0, held),) if isinstance(held, str) else held
    for level, (to, ohm) in (("high", high), ("low", low)):
        on = [(moment, float(now == level)) for moment, now in steps]
        if all(value == on[0][1] for _, value in on):
            if on[0][1]:
                yield f"r_{name}_{level} {node} {to} {ohm:g}"
            continue
        points = [f"0 {on[0][1]:g}"]
        for (_, before), (moment, after) in pairwise(on):
            points += [f"{moment:.9g} {before:g}", f"{moment + EDGE_S:.9g} {after:g}"]
        yield f"v_{name}_{level} {name}_{level}_on 0 pwl({' '.join(points)})"
        yield f"s_{name}_{level} {node} {name}_{level}_to {name}_{level}_on 0 hand"
        yield f"r_{name}_{level} {name}_{level}_to {to} {ohm:g}"


def _port(part: Part, program: Program, assumed: Assumed, _: float) -> Iterator[str]:
    rail, ground = _node(part.net("VDD")), _node(part.net("VSS"))
    for pin, net in zip(part.kind.pins, part.nets, strict=True):
        name = f"{part.reference}_{pin.name}"
        if net == FREE or pin.use is Use.POWER_IN:
            continue
        yield from _diodes(name, _node(net), rail, ground)
        if pin.use is Use.BIDIRECTIONAL:
            high = assumed.high_ohm.get(net, assumed.port_high_ohm)
            low = assumed.low_ohm.get(net, assumed.port_low_ohm)
            yield from _pin(name, _node(net), program.held.get(net, "float"), (rail, high), (ground, low))
            yield f"i_{name} {rail} {_node(net)} {assumed.leak_a:g}"
            yield f"c_{name} {_node(net)} {ground} {assumed.port_f:g}"


def _multiplexer(part: Part, program: Program, assumed: Assumed, _: float) -> Iterator[str]:
    rail, ground, common = _node(part.net("VCC")), _node(part.net("GND")), _node(part.net("Z"))
    chosen = program.channels.get(part.net("Z"), 15)
    for pin, net in zip(part.kind.pins, part.nets, strict=True):
        name = f"{part.reference}_{pin.name}"
        if net == FREE or pin.use is Use.POWER_IN:
            continue
        yield from _diodes(name, _node(net), rail, ground)
        if pin.name.startswith("Y") and net != GROUND:
            yield f"c_{name} {_node(net)} {ground} {assumed.channel_f:g}"
        if pin.name == f"Y{chosen}":
            yield f"r_{name} {_node(net)} {common} {assumed.channel_ohm.get(part.net('Z'), 100.0):g}"
    yield f"c_{part.reference}_common {common} {ground} {assumed.common_f:g}"
    yield f"i_{part.reference}_common {rail} {common} {assumed.common_leak_a:g}"


def _quad(part: Part, _: Program, assumed: Assumed, __: float) -> Iterator[str]:
    rails = f"{_node(part.net('VDD'))} {_node(part.net('VSS'))}"
    for number in range(1, 5):
        plus, minus, out = (part.net(name) for name in (f"IN{number}+", f"IN{number}-", f"OUT{number}"))
        offset = assumed.offset_v.get(out, 0.0)
        model, more = ("limited", f" least={assumed.floor_v:g}") if assumed.limited else ("amplifier", "")
        nodes = " ".join(map(_node, (plus, minus, out)))
        yield f"x_{part.reference}_{number} {nodes} {rails} {model} offset={offset:g}{more}"


def _converter(part: Part, _: Program, __: Assumed, ___: float) -> Iterator[str]:
    for name in ("A0", "A1", "A2", "A3"):
        yield f"r_{part.reference}_{name} {_node(part.net(name))} 0 100meg"


def _switch(part: Part, _: Program, __: Assumed, ___: float) -> Iterator[str]:
    gate, source, drain = map(_node, part.nets)
    yield f"m_{part.reference} {drain} {gate} {source} {source} pfet w=1 l=1"
    yield f"d_{part.reference} {drain} {source} chip area=50"


def _shunt(part: Part, _: Program, __: Assumed, ___: float) -> Iterator[str]:
    reference, anode, cathode = map(_node, part.nets)
    yield f"x_{part.reference} {reference} {anode} {cathode} tl431"


def _controller(part: Part, program: Program, assumed: Assumed, _: float) -> Iterator[str]:
    rail = _node("3V3")
    yield f"v_regulator regulated 0 {assumed.supply_v if assumed.powered else 0:g}"
    yield f"d_regulator regulated {rail} source_only"
    yield f"r_pico {rail} 0 {assumed.load_ohm if assumed.powered else assumed.dead_ohm:g}"
    yield f"c_pico {rail} 0 10u"
    for pin, net in zip(part.kind.pins, part.nets, strict=True):
        if net == FREE or pin.use is not Use.BIDIRECTIONAL:
            continue
        name, node, held = f"{part.reference}_{pin.name}", _node(net), program.held.get(net, "float")
        if assumed.bare_pads and pin.name not in ("GP26", "GP27", "GP28"):
            yield f"d_{name} 0 {node} pad"
        else:
            yield from _diodes(name, node, rail, "0")
        yield from _pin(name, node, held, (rail, assumed.pico_ohm), ("0", assumed.pico_ohm))
        yield f"c_{name} {node} 0 {assumed.port_f:g}"
        yield f"i_{name} {rail} {node} {assumed.leak_a:g}"
        if assumed.reset_pull_ohm is not None and held == "float":
            yield f"r_{name}_pull {node} 0 {assumed.reset_pull_ohm:g}"


_WRITERS = {
    "resistor": _resistor,
    "resistor network": _network,
    "capacitor": _capacitor,
    "dual diode": _clamp,
    "jack": _jack,
    "port": _port,
    "multiplexer": _multiplexer,
    "quad op-amp": _quad,
    "converter module": _converter,
    "P-channel FET": _switch,
    "shunt regulator": _shunt,
    "controller": _controller,
}
