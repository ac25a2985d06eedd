"""The bare board's netlist: a resistor from each contact to a pin of the Pico, and, for 57 V, a clamp at each pin."""

from firmware_sim.hardware.bench import CONTACTS, FAR, NEAR
from firmware_sim.hardware.kinds import CLAMP, JACK, PICO, resistor
from firmware_sim.hardware.part import FREE, GROUND, Board, Extra, Part


def bare(clamped: bool = True) -> Board:
    """Return the bare board; without its clamps it is never to come near power over the cable."""
    pins = {f"GP{number}": f"{contact}_P" for number, contact in enumerate(CONTACTS)}
    nets = pins | {"GND": GROUND, "AGND": GROUND, "3V3": "3V3" if clamped else FREE}
    each = resistor(68_000, 0.01, 0.25, 250)
    parts = [
        Part("U1", PICO, tuple(nets.get(pin.name, FREE) for pin in PICO.pins), "runs the program; USB to the host"),
        Part("J1", JACK, NEAR, "near jack"),
        Part("J2", JACK, FAR, "far jack"),
    ]
    parts += [
        Part(f"R{number}", each, (contact, f"{contact}_P"), f"between {contact} and its pin")
        for number, contact in enumerate(CONTACTS, 1)
    ]
    if clamped:
        parts += [
            Part(f"D{number}", CLAMP, (GROUND, "3V3", f"{contact}_P"), f"clamp of {contact}")
            for number, contact in enumerate(CONTACTS, 1)
        ]
    extras = (Extra("strip board" + (", carriers for SOT-23" if clamped else ""), 1, 2.00),)
    name, kept = ("bare-clamped", "stands 57 V") if clamped else ("bare", "never near power over the cable")
    return Board(name, f"Bare board: joined or not; {kept}", clamped, tuple(parts), extras)
