"""Figures of safety: 57 V for ever, what a source of power over the cable sees, and a program that stops."""

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from firmware_sim.hardware.bare import bare
from firmware_sim.hardware.bench import CONTACTS, bench
from firmware_sim.hardware.deck import Assumed, Program, deck, idle
from firmware_sim.hardware.part import Board
from tests.firmware_sim.hardware.spice import AT_REST, Figure, run, swept

WINDOW_OHM = (15e3, 33e3)  # between these a source may switch on (IEEE 802.3: must not below 15, above 33; from memory)
BENCH, BARE, BARE_CLAMPED = bench(), bare(clamped=False), bare()
ONE = (("N1",), ("N3",))
PAIRS = (("N1", "N2"), ("N3", "N6"))
BOTH_JACKS = (("N1", "N2", "F1", "F2"), ("N3", "N6", "F3", "F6"))
ISOLATED, GROUNDED = "1g", "1m"
STOPPED = Program()  # pins are inputs, VC off


def joined_to(sides: Sequence[Sequence[str]], source: str, to_ground: str) -> str:
    """Return a source between two groups of contacts, its lower end through some ohms at the tester's ground."""
    lines = [source.format(p="p", q="q"), f"r_iso q 0 {to_ground}"]
    for node, side in zip("pq", sides, strict=True):
        lines += [f"r_{node}_{contact} {node} {contact} 1m" for contact in side]
    return "\n".join(lines)


def clean_held(**levels: str) -> Program:
    """Return idle with some contacts otherwise: N1_P="float"."""
    return replace(idle(BENCH), held={**idle(BENCH).held, "NS_P": "low", "FS_P": "low", **levels})


FLOATING = Program({"GATE": "low"})
FAULTS: dict[str, tuple[Sequence[Sequence[str]], str, float, Program, bool, float | None, float | None]] = {
    # name: contacts, source's end, volt, program, powered; drive resistor W, rail V as the design has them
    "1 contact, isolated, on, all low": (ONE, ISOLATED, 57, clean_held(), True, 0.2336, 3.2888),
    "1 contact, isolated, on, floating": (ONE, ISOLATED, 57, FLOATING, True, 0.22827, 3.2899),
    "two pairs, isolated, on, floating": (BOTH_JACKS, ISOLATED, 57, FLOATING, True, 0.22625, 3.5225),
    "two pairs, isolated, off": (BOTH_JACKS, ISOLATED, 57, STOPPED, False, 0.22622, 3.5265),
    "two pairs against ground, on, floating": (BOTH_JACKS, GROUNDED, 57, FLOATING, True, 0.92738, 3.5306),
    "two pairs against ground, off": (BOTH_JACKS, GROUNDED, 57, STOPPED, False, 0.92724, 3.5346),
    "two pairs against ground, on, all low": (BOTH_JACKS, GROUNDED, 57, clean_held(), True, 0.92935, 3.522),
    "two pairs, isolated, turned round": (BOTH_JACKS, ISOLATED, -57, FLOATING, True, 0.22625, 3.5225),
    "two pairs against ground, turned round": (BOTH_JACKS, GROUNDED, -57, FLOATING, True, None, None),
    "two pairs against ground, stopped, on": (BOTH_JACKS, GROUNDED, 57, STOPPED, True, None, None),
}


def at_fault(name: str, board: Board = BENCH, factors: Mapping[str, float] | None = None) -> dict[str, float]:
    """Return the node voltages of a fault of 57 V that lasts."""
    sides, to_ground, volt, program, powered, _, _ = FAULTS[name]
    source = f"v_fault {{p}} {{q}} {volt}"
    text = deck(
        board, program, Assumed(powered=powered, limited=True), joined_to(sides, source, to_ground), AT_REST, factors
    )
    return run(text)


def heats(nodes: Mapping[str, float], board: Board = BENCH) -> dict[str, float]:
    """Return what each resistor turns into heat, watts; a network's is its hottest section."""
    found: dict[str, float] = {}
    for part in board.parts:
        if "resistor" in part.kind.name:
            half = len(part.nets) // 2
            for a, b in zip(part.nets[:half], reversed(part.nets[half:]), strict=True):
                if "free" not in (a, b):
                    across = nodes.get(a.lower(), 0.0) - nodes.get(b.lower(), 0.0)
                    watt = across**2 / (part.kind.quantity or 0)
                    found[part.reference] = max(watt, found.get(part.reference, 0.0))
    return found


def faults(names: Sequence[str] = tuple(FAULTS)) -> Iterator[Figure]:
    """Give, for each fault, the hottest drive resistor, the rail, every other resistor's share, pins and shunt."""
    for name in names:
        *_, watt, rail = FAULTS[name]
        nodes = at_fault(name)
        hot = heats(nodes)
        drive = max(hot[f"R{number}"] for number in range(1, 19))
        why = "the clamp to ground is 4 V nearer to the source" if "ground, turned" in name else ""
        yield Figure(f"57 V, {name}: hottest drive resistor", "W of 2", watt, drive, 0.0, 2.0, why)
        yield Figure(f"57 V, {name}: rail VC", "V", rail, nodes["vc"], -0.1, 3.6)
        others = max(watt / (BENCH.part(one).kind.watt or 1) for one, watt in hot.items() if int(one.strip("RN")) > 18)
        yield Figure(f"57 V, {name}: hottest other resistor of its rating", "", None, others, 0.0, 1.0)
        into = max(abs(nodes[f"{net}_k".lower()] - nodes[f"{net}_p".lower()]) / 330 for net in CONTACTS)
        yield Figure(f"57 V, {name}: greatest current of a port pin", "mA", None, into * 1e3, 0.0, 25.0)
        muxed = max(abs(nodes[net.lower()] - nodes[f"{net}_s".lower()]) / 22_000 for net in CONTACTS)
        yield Figure(f"57 V, {name}: greatest current of a multiplexer input", "mA", None, muxed * 1e3, 0.0, 20.0)
        shunt = min(max(nodes["shunt_ref"] - 2.495, 0.0) / 0.2, 0.15)
        yield Figure(f"57 V, {name}: shunt", "mA", None, shunt * 1e3, 0.0, 100.0)


def any_two(count: int, seed: int = 7) -> Iterator[Figure]:
    """Give the worst of 57 V between any two contacts, either way round, isolated or against ground, in any state."""
    rng = random.Random(seed)
    states = ((clean_held(), True), (FLOATING, True), (STOPPED, True), (STOPPED, False))
    everywhere = [
        (a, b, volt, iso) for a in CONTACTS for b in CONTACTS if a != b for volt in (57, -57) for iso in (0, 1)
    ]
    chosen = rng.sample(everywhere, min(count, len(everywhere)))
    drive, rail, port, other = 0.0, 0.0, 0.0, 0.0
    for place, (a, b, volt, grounded) in enumerate(chosen):
        program, powered = states[place % len(states)]
        world = joined_to(((a,), (b,)), f"v_fault {{p}} {{q}} {volt}", GROUNDED if grounded else ISOLATED)
        nodes = run(deck(BENCH, program, Assumed(powered=powered, limited=True), world, AT_REST))
        hot = heats(nodes)
        drive = max(drive, *(hot[f"R{number}"] for number in range(1, 19)))
        other = max(other, *(watt / (BENCH.part(one).kind.watt or 1) for one, watt in hot.items() if one[0] == "R"))
        rail = max(rail, nodes["vc"])
        port = max(port, *(abs(nodes[f"{net}_k".lower()] - nodes[f"{net}_p".lower()]) / 330 for net in CONTACTS))
    text = f"57 V, any two of 18 contacts, {len(chosen)} cases"
    yield Figure(f"{text}: hottest drive resistor", "W of 2", None, drive, 0.5, 2.0)
    yield Figure(f"{text}: hottest resistor of its rating", "", None, other, 0.1, 1.0)
    yield Figure(f"{text}: rail VC", "V", None, rail, 3.0, 3.6)
    yield Figure(f"{text}: greatest current of a port pin", "mA", None, port * 1e3, 1.0, 25.0)


def slopes(rows: Sequence[tuple[float, ...]]) -> tuple[float, float, float]:
    """Return the least slope, ohm, the greatest, and the share inside the window, of points 1 V or more apart."""
    points = [(volt, amp) for volt, amp in rows if 2.79 < volt < 10.01]
    found = [
        (v2 - v1) / max(abs(i2 - i1), 1e-12)
        for place, (v1, i1) in enumerate(points)
        for v2, i2 in points[place + 1 :]
        if v2 - v1 > 0.999
    ]
    inside = sum(WINDOW_OHM[0] < slope < WINDOW_OHM[1] for slope in found)
    return min(found), max(found), inside / len(found)


SWEEP = ".control\ndc v_probe 2.8 10 0.1\nwrdata swept.txt -i(v_probe)\n.endc"


def signature(
    board: Board,
    program: Program,
    sides: Sequence[Sequence[str]],
    assumed: Assumed,
    factors: Mapping[str, float] | None = None,
) -> tuple[float, float, float]:
    """Return the slopes that an isolated source sees between two groups of contacts."""
    assumed = replace(assumed, limited=True)
    world = joined_to(sides, "v_probe {p} {q} 3", ISOLATED)
    return slopes(swept(deck(board, program, assumed, world, SWEEP, factors)))


BENCH_STATES: dict[str, tuple[Program, Assumed]] = {
    "idle": (idle(BENCH), Assumed()),
    "look, N1 floats, DN": (replace(clean_held(N1_P="float", DN_A="low"), channels={"COM_A": 0}), Assumed()),
    "look, N1 floats, UP": (replace(clean_held(N1_P="float", UP_A="high"), channels={"COM_A": 0}), Assumed()),
    "bridge, N1 floats": (replace(clean_held(N1_P="float", F1_P="float"), channels={"COM_A": 0}), Assumed()),
    "bridge, N1 floats, N3 high": (
        replace(clean_held(N1_P="float", F1_P="float", N3_P="high"), channels={"COM_A": 0}),
        Assumed(),
    ),
    "scan, N1 high, UP on F3": (
        replace(clean_held(N1_P="high", UP_B="high"), channels={"COM_B": 2}),
        Assumed(),
    ),
    "scan, N1 high, UP on N1": (replace(clean_held(N1_P="high", UP_A="high"), channels={"COM_A": 0}), Assumed()),
    "four-wire, N1 high, N3 low": (clean_held(N1_P="high"), Assumed()),
    "four-wire, N1 high, its twin low, mates float": (clean_held(N1_P="high", N2_P="float", N6_P="float"), Assumed()),
    "low level": (
        replace(clean_held(UP_A="high", UP_B="high", LIFT="high"), channels={"COM_A": 0, "COM_B": 0}),
        Assumed(),
    ),
    "stopped: pins inputs, VC off": (STOPPED, Assumed()),
    "reset: pull-downs, VC off": (STOPPED, Assumed(reset_pull_ohm=50e3)),
    "no power, Pico draws nothing": (STOPPED, Assumed(powered=False, dead_ohm=1e9)),
    "no power, Pico draws 150 ohm": (STOPPED, Assumed(powered=False)),
}
# A single floating contact against the others, where a pair has lost one conductor: the exception that is stated.
FLOATS_ALONE = ("look, N1 floats, DN", "look, N1 floats, UP", "bridge, N1 floats")


def spread(factor: float) -> dict[str, float]:
    """Return every drive resistor and network off by a factor."""
    return {f"R{number}": factor for number in range(1, 19)} | {f"RN{number}": factor for number in (1, 2, 3)}


def bench_signature(factors: Sequence[float] = (0.95, 1.05)) -> Iterator[Figure]:
    """Give each state's share of slopes in the window, and its least and greatest slope."""
    for factor in factors:
        for name, (program, assumed) in BENCH_STATES.items():
            for sides, text in ((ONE, "1 contact"), (PAIRS, "2 contacts"), (BOTH_JACKS, "4 contacts")):
                least, most, share = signature(BENCH, program, sides, assumed, spread(factor))
                excepted = sides is ONE and name in FLOATS_ALONE
                said = 1.1 if excepted and "DN" in name else 0.8 if excepted else 0.0
                yield Figure(
                    f"signature, {text}, {name}, resistors {factor - 1:+.0%}: slopes in 15..33 kohm",
                    "%",
                    said,
                    share * 100,
                    0.0,
                    1.5 if excepted else 0.0,
                    f"slopes {least / 1e3:.3g} to {most / 1e3:.3g} kohm",
                )


def unsafe() -> Iterator[Figure]:
    """Give what a board without its clamps, or whose VC stays on in a reset, would be: these figures must be bad."""
    without = {f"D{number}": 1e-9 for number in range(1, 19)}
    nodes = at_fault("two pairs against ground, on, floating", factors=without)
    into = abs(nodes["n1_k"] - nodes["n1_p"]) / 330 * 1e3
    yield Figure(
        "no clamps, 57 V against ground: current of a port pin", "mA", 15.8, into, 10, 25, "why clamps are fitted"
    )
    for sides, text, said in ((ONE, "1 contact", 2.0), (PAIRS, "2 contacts", 0.6)):
        _, _, share = signature(BENCH, FLOATING, sides, Assumed(), spread(1.05))
        name = f"signature, {text}, VC on and all pins inputs: slopes in 15..33 kohm"
        yield Figure(name, "%", said, share * 100, 0.3, 3, "why VC goes off when the program stops")
