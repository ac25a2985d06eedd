"""The bench board's netlist: every part and what each of its pins is soldered to.

Nets: N1..N8, NS and F1..F8, FS are the contacts of the jacks; with _K behind the drive resistor where the clamp is,
with _P at the port's pin, with _S at the multiplexer. COM_A and COM_B are what the multiplexers look with, VC the rail
that is switched, NGND the near port's ground, which LIFT raises by some millivolts.
"""

from collections.abc import Iterator
from itertools import count

from firmware_sim.hardware.kinds import (
    CLAMP,
    CONVERTER,
    JACK,
    MULTIPLEXER,
    NETWORK_330,
    PICO,
    PORT,
    QUAD,
    SHUNT,
    SWITCH,
    capacitor,
    resistor,
)
from firmware_sim.hardware.part import FREE, GROUND, Board, Extra, Kind, Part

NEAR = (*(f"N{contact}" for contact in range(1, 9)), "NS")
FAR = (*(f"F{contact}" for contact in range(1, 9)), "FS")
CONTACTS = NEAR + FAR  # 1 to 18, as on the line
PICO_NETS = (
    {"GP0": "SDA", "GP1": "SCL", "GP10": "UP_A", "GP11": "DN_A", "GP12": "UP_B", "GP13": "DN_B", "GP14": "LIFT"}
    | {"GP15": "GATE", "GP16": "MISO", "GP17": "CS", "GP18": "SCK", "GP19": "MOSI", "GP26": "ADC_A", "GP27": "ADC_B"}
    | {f"GP{2 + bit}": f"A_S{bit}" for bit in range(4)}
    | {f"GP{6 + bit}": f"B_S{bit}" for bit in range(4)}
    | {"GND": GROUND, "AGND": GROUND, "3V3": "3V3"}
)
# Channels of both multiplexers beyond the contacts; what is not named is free, 15 on purpose: it parks.
KNOWN_CHANNEL, LINK_CHANNEL, GROUND_CHANNEL = 9, 10, 11


def bench() -> Board:
    """Return the bench board."""
    parts = [
        _named("U1", PICO, PICO_NETS, "runs the program; USB to the host"),
        Part("J1", JACK, NEAR, "near jack"),
        Part("J2", JACK, FAR, "far jack"),
        *_drive_cells(),
        *_ports(),
        *_looking("A"),
        *_looking("B"),
        *_gain(),
        *_supply(),
        *_decoupling(),
    ]
    extras = (
        Extra("sockets: 2 x DIP-28, 1 x DIP-14, 3 x DIP-16", 6, 0.30),
        Extra("socket strips of 20 for the Pico", 2, 0.60),
        Extra("circuit board of two layers, or strip board and carriers", 1, 6.00),
    )
    return Board("bench", "Bench board: ohms, capacitance, foreign voltage", True, tuple(parts), extras)


def _named(reference: str, kind: Kind, nets: dict[str, str], purpose: str) -> Part:
    """Return a part by the names of its pins; those that are not named are free."""
    assert set(nets) <= {pin.name for pin in kind.pins}, reference
    return Part(reference, kind, tuple(nets.get(pin.name, FREE) for pin in kind.pins), purpose)


def _drive_cells() -> Iterator[Part]:
    """Give what each of the 18 contacts has: drive resistor, clamp, a section of a network, sense resistor."""
    drive, sense = resistor(3_000, 0.01, 2.0, 250), resistor(22_000, 0.01, 0.25, 250)
    for number, contact in enumerate(CONTACTS, 1):
        yield Part(f"R{number}", drive, (contact, f"{contact}_K"), f"drive of {contact}; takes 57 V")
    for number, contact in enumerate(CONTACTS, 1):
        yield Part(f"D{number}", CLAMP, (GROUND, "VC", f"{contact}_K"), f"clamp of {contact}")
    for number, contact in enumerate(CONTACTS, 21):
        yield Part(f"R{number}", sense, (contact, f"{contact}_S"), f"sense of {contact}")
    for number, served in enumerate((NEAR[:8], FAR[:8], (NEAR[8], FAR[8])), 1):
        nets = [FREE] * 16
        for section, contact in enumerate(served):
            nets[section], nets[15 - section] = f"{contact}_K", f"{contact}_P"
        yield Part(f"RN{number}", NETWORK_330, tuple(nets), "keeps the clamp's voltage off " + " ".join(served))


def _ports() -> Iterator[Part]:
    """Give the two ports that drive, and what lifts the near one's ground."""
    shared = {"VDD": "VC", "CS": "CS", "SCK": "SCK", "SI": "MOSI", "SO": "MISO", "RESET": "VC"}
    low = {"A1": GROUND, "A2": GROUND}
    for reference, contacts, side, ground, address in (
        ("U2", NEAR, "A", "NGND", GROUND),
        ("U3", FAR, "B", GROUND, "VC"),
    ):
        nets = shared | low | {"VSS": ground, "A0": address}
        nets |= {f"GPA{bit}": f"{contact}_P" for bit, contact in enumerate(contacts[:7])}
        nets |= {"GPB0": f"{contacts[7]}_P", "GPB1": f"{contacts[8]}_P", "GPB2": f"STEP_{side}", "GPB3": f"PED_{side}"}
        which = "near" if side == "A" else "far"
        yield _named(reference, PORT, nets, f"drives the {which} contacts; address {0 if address == GROUND else 1}")
    yield Part("R41", resistor(10), ("NGND", GROUND), "low level: the near port's ground lead")
    yield Part("R42", resistor(2_400), ("LIFT", "NGND"), "low level: lifts the near port's ground")


def _looking(side: str) -> Iterator[Part]:
    """Give one multiplexer and what hangs on its common: UP, DN, known capacitor, pedestal, its buffer's lead."""
    contacts, first = (NEAR, 43) if side == "A" else (FAR, 48)
    common, number = f"COM_{side}", count(first)
    nets = {f"Y{channel}": f"{contact}_S" for channel, contact in enumerate(contacts)}
    nets |= {f"S{bit}": f"{side}_S{bit}" for bit in range(4)} | {"Z": common, "GND": GROUND, "VCC": "VC", "E": GROUND}
    nets |= {
        f"Y{KNOWN_CHANNEL}": "KNOWN_HI" if side == "A" else "KNOWN_LO",
        f"Y{LINK_CHANNEL}": "KNOWN_LO",
        f"Y{GROUND_CHANNEL}": GROUND,
    }
    yield _named(
        "U4" if side == "A" else "U5", MULTIPLEXER, nets, f"looks at the {'near' if side == 'A' else 'far'} contacts"
    )
    yield Part(
        f"R{next(number)}", resistor(100_000, 0.001), (f"UP_{side}", common), f"UP_{side}: pulls up what is looked at"
    )
    yield Part(
        f"R{next(number)}", resistor(100_000), (f"DN_{side}", common), f"DN_{side}: pulls down what is looked at"
    )
    for name in ("STEP", "PED"):
        yield Part(
            f"R{next(number)}",
            resistor(22_000),
            (f"{name}_{side}", f"{name}_{side}_C"),
            f"keeps the fall of {name}_{side} from kicking the multiplexer",
        )
    yield Part(f"R{next(number)}", resistor(1_000), (f"BUF_{side}", f"ADC_{side}"), "a Pico without power stays unfed")
    c0g = "C0G, 1 %: what every capacitance is compared with"
    step, pedestal = capacitor(220e-12, 0.01, c0g), capacitor(100e-12, 0.05, "C0G, 5 %")
    one, two = ("C1", "C2") if side == "A" else ("C3", "C4")
    yield Part(one, step, (f"STEP_{side}_C", common), f"the known capacitor of side {side}")
    yield Part(two, pedestal, (f"PED_{side}_C", common), f"pedestal of side {side}")


def _gain() -> Iterator[Part]:
    """Give buffers, the difference times eleven, the converter, and the known resistor that calibrates it."""
    buffers = {"IN1+": "COM_A", "IN1-": "BUF_A", "OUT1": "BUF_A", "IN2+": "COM_B", "IN2-": "BUF_B", "OUT2": "BUF_B"}
    times = {"IN3+": "COM_A", "IN3-": "GAIN_A", "OUT3": "X11_A", "IN4+": "COM_B", "IN4-": "GAIN_B", "OUT4": "X11_B"}
    power = {"VDD": "VC", "VSS": GROUND}
    yield _named("U6", QUAD, buffers | times | power, "buffers, and the difference times eleven")
    yield Part("R53", resistor(10_000), ("X11_A", "GAIN_A"), "gain of the difference")
    yield Part("R54", resistor(10_000), ("X11_B", "GAIN_B"), "gain of the difference")
    yield Part("R55", resistor(2_000), ("GAIN_A", "GAIN_B"), "gain of the difference")
    nets = {"VDD": "VC", "GND": GROUND, "SCL": "SCL", "SDA": "SDA", "ADDR": GROUND}
    nets |= {"A0": "X11_A", "A1": "X11_B", "A2": "BUF_A", "A3": "BUF_B"}
    yield _named("U7", CONVERTER, nets, "four-wire ohms; I2C address 0x48")
    yield Part("R56", resistor(3_000, 0.001), ("VC", "KNOWN_HI"), "known divider, top")
    yield Part("R57", resistor(33, 0.001), ("KNOWN_HI", "KNOWN_LO"), "known divider: the known resistor")
    yield Part("R58", resistor(3_300, 0.001), ("KNOWN_LO", GROUND), "known divider, bottom")


def _supply() -> Iterator[Part]:
    """Give the switch of VC, the shunt that takes what the clamps push into it, and its bleed."""
    yield Part("Q1", SWITCH, ("GATE", "3V3", "VC"), "switches VC; off unless the program holds GATE low")
    yield Part("R59", resistor(2_200), ("GATE", "3V3"), "holds Q1 off against the pull-down of a reset Pico")
    yield Part("U8", SHUNT, ("SHUNT_REF", GROUND, "VC"), "takes what the clamps push into VC")
    yield Part("R60", resistor(8_060, 0.001), ("VC", "SHUNT_REF"), "sets the shunt's voltage")
    yield Part("R61", resistor(20_000, 0.001), ("SHUNT_REF", GROUND), "sets the shunt's voltage")
    yield Part("R62", resistor(1_000), ("VC", GROUND), "bleed: a board without power looks like a plain resistor")


def _decoupling() -> Iterator[Part]:
    """Give a capacitor at every supply pin, and one for the rail."""
    ceramic = capacitor(100e-9, 0.2, "X7R", 50)
    for number, (whose, ground) in enumerate(
        (("U2", "NGND"), ("U3", GROUND), ("U4", GROUND), ("U5", GROUND), ("U6", GROUND), ("U7", GROUND)), 5
    ):
        yield Part(f"C{number}", ceramic, ("VC", ground), f"beside the supply pins of {whose}")
    yield Part("C11", capacitor(10e-6, 0.2, "X5R or X7R", 16), ("VC", GROUND), "holds the rail")
