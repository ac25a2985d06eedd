"""Figures of the bare board: 57 V, what a source of power over the cable sees, joined or open, leaks."""

from collections.abc import Iterator

from firmware_sim.hardware.bare import bare
from firmware_sim.hardware.bench import CONTACTS
from firmware_sim.hardware.deck import Assumed, Held, Program, deck
from firmware_sim.hardware.part import Board
from tests.firmware_sim.hardware.cables import SAID_UTP, cable
from tests.firmware_sim.hardware.safety_figures import BOTH_JACKS, ONE, PAIRS, joined_to, signature
from tests.firmware_sim.hardware.spice import AT_REST, Figure, measured, run

PLAIN, CLAMPED = bare(clamped=False), bare()
SERIES_OHM = 68_000
JOINED_V, OPEN_V = 2.0, 0.8  # what the chip surely reads as high, as low (from memory)


def faults() -> Iterator[Figure]:
    """Give what 57 V does to a pin and a resistor, with clamps and without."""
    cases = (
        ("two contacts, isolated, on", ONE, "1g", True, Program(), 0.386),
        ("two contacts, isolated, off", ONE, "1g", False, Program(), 0.409),
        ("against ground, on", ONE, "1m", True, Program(), 0.780),
        ("two contacts, isolated, on, one pin low", ONE, "1g", True, Program({"N3_P": "low"}), 0.390),
        ("all 18 contacts against ground, off", (CONTACTS, ()), "1m", False, Program(), None),
    )
    for board, pins in ((CLAMPED, "pads of 5 V"), (PLAIN, "pads of 5 V"), (PLAIN, "pads with a diode")):
        for text, sides, iso, powered, program, said in cases:
            assumed = Assumed(powered=powered, dead_ohm=150, bare_pads=pins == "pads of 5 V")
            world = joined_to(sides, "v_fault {p} {q} 57", iso)
            nodes = run(deck(board, program, assumed, world, AT_REST))
            amp = abs(nodes["n1"] - nodes["n1_p"]) / SERIES_OHM
            name = f"bare, {'clamped' if board is CLAMPED else 'resistors alone'}, {pins}, 57 V {text}"
            yield Figure(f"{name}: current at a pin", "mA", said, amp * 1e3, 0, 1)
            yield Figure(f"{name}: resistor", "W of 0.25", None, amp**2 * SERIES_OHM, 0, 0.25)
            unkind = board is PLAIN and pins == "pads of 5 V"
            why = "so never near power over the cable; breakdown of a pad at 8 V is assumed" if unkind else ""
            most = 8.5 if unkind else 5.0
            yield Figure(f"{name}: pin", "V", 8.17 if unkind else None, nodes["n1_p"], -0.8, most, why)
            yield Figure(f"{name}: rail", "V", None, nodes["rail_3v3"], -0.1, 3.63)


def bare_signature(boards: tuple[Board, ...] = (PLAIN, CLAMPED)) -> Iterator[Figure]:
    """Give the least slope of all states, resistors at their low end; the window ends at 33 kohm."""
    rails = (Assumed(), Assumed(powered=False), Assumed(powered=False, dead_ohm=1e9))
    states: tuple[tuple[dict[str, Held], float | None], ...] = (
        ({}, None),
        ({"N3_P": "low", "N6_P": "low", "F3_P": "low", "F6_P": "low"}, None),
        (dict.fromkeys([f"{contact}_P" for contact in CONTACTS], "low"), None),
        ({"N1_P": "high", "N2_P": "high", "F1_P": "high", "F2_P": "high", "N3_P": "low", "F3_P": "low"}, None),
        (dict.fromkeys([f"{contact}_P" for contact in CONTACTS], "high"), None),
        ({}, 50e3),
    )
    low = {f"R{number}": 0.99 for number in range(1, 19)}
    for board in boards:
        for sides, text, said in (
            (ONE, "1 contact", 134.7),
            (PAIRS, "2 contacts", 67.4),
            (BOTH_JACKS, "4 contacts", 33.685),
        ):
            least = min(
                signature(
                    board,
                    Program(held),
                    sides,
                    Assumed(powered=rail.powered, dead_ohm=rail.dead_ohm, bare_pads=pads, reset_pull_ohm=pull),
                    low,
                )[0]
                for rail in rails
                for held, pull in states
                for pads in (True, False)
            )
            what = "clamped" if board is CLAMPED else "resistors alone"
            name = f"bare, {what}: least slope of all states, {text} a side"
            why = "2 % of margin: one jack at a time near anything that has power" if text == "4 contacts" else ""
            yield Figure(name, "kohm", said, least / 1e3, 33.0, 140.0, why)


def timing() -> Iterator[Figure]:
    """Give what is seen of a joined and an open mate at 90 m, and of an empty contact that leaks."""
    let_go: Held = ((0.0, "low"), (5e-3, "float"))
    program = Program({"N1_P": "high", "N2_P": let_go})
    asked = measured("7.1m", "5u", soon=("v(n2_p)", "5.05m"), late=("v(n2_p)", "7m"))
    for text, world, said, least, most in (
        ("joined, 90 m", cable(SAID_UTP, 90, "0", far=False) + "\nr_joint N1 N2 8", 3.300, JOINED_V, 3.4),
        ("open, 90 m", cable(SAID_UTP, 90, "0", far=False), 0.0005, -0.1, OPEN_V),
    ):
        for board, name in ((PLAIN, "resistors alone"), (CLAMPED, "clamped")):
            found = run(deck(board, program, Assumed(leak_a=1e-9), world, asked))
            yield Figure(f"bare, {name}, {text}: pin 2 ms after", "V", said, found["late"], least, most)
    for leak, said, most in ((1e-9, 0.067, 0.8), (1e-8, 0.666, 0.8), (1e-7, 6.655, 8.0)):
        found = run(deck(PLAIN, program, Assumed(leak_a=leak, contact_f=20e-12), "", asked))
        why = "looks joined after 2 ms: read after 50 us as well" if leak > 5e-8 else ""
        yield Figure(f"bare, empty contact, {leak * 1e9:g} nA: pin 2 ms after", "V", said, found["late"], 0, most, why)
        yield Figure(f"bare, empty contact, {leak * 1e9:g} nA: pin 50 us after", "V", None, found["soon"], 0, 0.8)
    soon = run(deck(PLAIN, program, Assumed(leak_a=1e-6, contact_f=20e-12), "", asked))["soon"]
    why = "1 uA looks joined: read again with the other contact low, and refuse"
    yield Figure("bare, empty contact, 1 uA: pin 50 us after", "V", None, soon, 0.8, 4, why)
