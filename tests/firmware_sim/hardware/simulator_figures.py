"""The simulator's bench board beside the deck of the whole board, node by node, driven alike.

Neither knows the other: the simulator solves the contacts' network itself, with ports, multiplexers and amplifiers as
it takes them to be; the deck has every part of the netlist. What differs is what one of them leaves out.
"""

from collections.abc import Iterator

from firmware_sim.hardware.deck import Assumed, Held
from tests.firmware_sim.bench_boards import ALL, DOWN_A, PEDESTAL, STEP, UP_A, Driven
from tests.firmware_sim.hardware.bridge_figures import bridged
from tests.firmware_sim.hardware.cables import UTP
from tests.firmware_sim.hardware.measuring_figures import low_but, nodes
from tests.firmware_sim.hardware.spice import Figure

EVERY = ALL | ALL << 9
COMMON_A, COMMON_B = 18, 21


def _beside(name: str, unit: str, simulated: float, deck: float, most: float, why: str = "") -> Figure:
    why = f"simulator {simulated:.5g}, deck {deck:.5g}; {why}".rstrip("; ")
    return Figure(f"simulator less deck: {name}", unit, None, simulated - deck, -most, most, why)


def simulated() -> Iterator[Figure]:
    """Give each function's nodes: four-wire, low level, look, leak, bridge."""
    yield from _four_wire()
    yield from _low_level()
    yield from _look()
    yield from _leak()
    yield from _bridge()


def _four_wire() -> Iterator[Figure]:
    made = Driven()
    made.look_at(0, 0)
    made.drive(low=EVERY & ~1, high=1)
    volts = made.after(2_000)
    ohm = 1e12 / made.tables["networks"][0]["nodes"]["ps"][8]
    found = nodes(low_but(0, 0, N1_P="high"), Assumed(), f"r_run N1 F1 {ohm:.6g}")
    for name, place, node in (("high contact", 0, "n1"), ("low contact", 9, "f1"), ("common B", COMMON_B, "com_b")):
        why = "the deck's rail stands 10 mV lower: its model of the Pico's regulator"
        yield _beside(f"four-wire, {name}", "mV", volts[place] * 1e3, found[node] * 1e3, 8.0, why)
    ratios = [(one - other) / one for one, other in ((volts[0], volts[9]), (found["n1"], found["f1"]))]
    yield _beside("four-wire, across over all", "ppm", ratios[0] * 1e6, ratios[1] * 1e6, 3.0)


def _low_level() -> Iterator[Figure]:
    made = Driven(attached={"far": "open"})
    made.look_at(0, 0)
    made.lift(True)
    volts = made.after(2_000)
    found = nodes(low_but(0, 0, LIFT="high"), Assumed(), "")
    why = "the simulator's LIFT has no resistance of its own, the deck's 40 ohm"
    yield _beside("low level, open circuit", "mV", volts[0] * 1e3, found["n1"] * 1e3, 0.5, why)


def _look() -> Iterator[Figure]:
    for text, up in (("DN", False), ("UP", True)):
        attached = {"kind": "dc", "contact": "4", "other": "5", "volt": 0.5, "source_ohm": 10.0, "far": "open"}
        made = Driven(attached=attached)
        made.look_at(3, 15)
        made.pull(up=UP_A if up else 0, down=0 if up else DOWN_A)
        made.drive(low=EVERY & ~(1 << 3))
        volts = made.after(3_000)
        world = "v_foreign outer N5 0.5\nr_foreign outer N4 10"
        held: dict[str, Held] = {"UP_A": "high"} if up else {"DN_A": "low"}
        found = nodes(low_but(3, 15, N4_P="float", **held), Assumed(limited=True), world)
        name = f"look, {text}, 0.5 V between two contacts, common A"
        yield _beside(name, "mV", volts[COMMON_A] * 1e3, found["com_a"] * 1e3, 6.0, "UP and DN pins of 40 ohm, leakage")


def _leak() -> Iterator[Figure]:
    for ohm, most in ((50_000.0, 2.0), (1_000_000.0, 0.3)):
        made = Driven(fault=[{"kind": "leak", "conductors": ["orange", "white-green"], "ohm": ohm, "end": "far"}])
        pair, other = 1 << 1 | 1 << 10, 1 << 2 | 1 << 11
        made.look_at(2, 15)
        made.drive(low=EVERY & ~pair & ~other | 1 << 2, high=pair)
        volts = made.after(3_000)
        world = f"r_two N2 F2 0.2\nr_three N3 F3 0.2\nr_leak F2 F3 {ohm}"
        program = low_but(2, 15, N2_P="high", F2_P="high", F3_P="float")
        found = nodes(program, Assumed(), world)
        yield _beside(f"leak of {ohm / 1e3:g} kohm, the low contact", "mV", volts[2] * 1e3, found["n3"] * 1e3, most)


def _bridge() -> Iterator[Figure]:
    made = Driven(segment=[{"cable": "UTP", "length_m": 20.0}])
    net, mate = 1 | 1 << 9, 1 << 1 | 1 << 10
    made.look_at(0, 15)
    made.drive(low=EVERY & ~net)
    made.board.advance(300)
    levels = []
    for steps in (PEDESTAL, PEDESTAL | STEP):
        made.drive(low=EVERY & ~net, near_steps=steps)
        levels.append(made.after(300)[COMMON_A])
    made.drive(low=EVERY & ~net & ~mate, high=mate, near_steps=PEDESTAL | STEP)
    levels.append(made.after(300)[COMMON_A])
    own = -made.tables["networks"][0]["nodes"]["af"][0][1] / 1e6
    weighed = 220 * (levels[2] - levels[1]) / (levels[1] - levels[0])
    deck = bridged(UTP, 20, "2", 3e-4).picofarads() / (UTP.mate * 20)
    yield _beside("bridge, mate found over mate, 20 m", "%", 100 * weighed / own, 100 * deck, 0.5)
