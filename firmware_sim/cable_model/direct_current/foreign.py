"""Voltages that do not come from the tester: attached sources, and wet joints that are cells."""

from collections.abc import Sequence
from typing import Any

from firmware_sim.cable_model.direct_current.far_end import attach
from firmware_sim.cable_model.direct_current.networks import (
    JOINED_OHM,
    Groups,
    Node,
    cable_network,
    contact,
    far_plug,
    wire,
)
from firmware_sim.cable_model.laid_out.run import CONTACT_COUNT, Run, lay_out
from firmware_sim.cable_model.laid_out.schedule import in_us
from firmware_sim.cable_model.written.description import Description
from firmware_sim.cable_model.written.plugs import ADAPTERS
from firmware_sim.cable_model.written.when import When

KINDS = {"dc": "dc", "ac": "ac", "injector": "dc", "poe-probe": "probe", "link": "link", "cell": "cell"}


def foreign_voltages(description: Description, active: frozenset[int]) -> list[dict[str, Any]]:
    """Return the entries of `tables`' key "foreign" of one cable; active: those of its faults to take as there."""
    run = lay_out(description, active)
    network = cable_network(run)
    attach(network, description)
    nets = network.joined(JOINED_OHM)
    entries = []
    attached = description.attached
    if attached.kind != "none":
        sockets = ADAPTERS[description.connectors[1]]
        plus = _reached(nets, [far_plug(sockets[name]) for name in attached.contact])
        minus: Sequence[int | None] = [None]
        if attached.other:
            minus = _reached(nets, [far_plug(sockets[name]) for name in attached.other])
        millivolts, source_ohm = round(attached.volt * 1000), round(attached.source_ohm)
        entries += _entries(plus, minus, millivolts, source_ohm, KINDS[attached.kind], attached.when)
    for number, fault in enumerate(description.faults):
        if fault.volt and number in active:
            a, b = _bridge_ends(run, fault.conductors, fault.volt)
            plus, minus = _reached(nets, [a]), _reached(nets, [b])
            entries += _entries(plus, minus, round(fault.volt * 1000), round(fault.ohm), "cell", fault.when)
    return entries


def _bridge_ends(run: Run, conductors: tuple[str, ...], volt: float) -> tuple[Node, Node]:
    a, b = conductors
    for place, joint in enumerate(run.joints):
        for bridge in joint.bridges:
            if (bridge.a, bridge.b, bridge.volt) == (a, b, volt):
                side = "right" if bridge.on_right else "left"
                return wire(place, side, a), wire(place, side, b)
    raise AssertionError(f"no bridge between {a} and {b}")


def _reached(nets: Groups, nodes: list[Node]) -> list[int]:
    roots = {nets.find(node) for node in nodes}
    return [index for index in range(CONTACT_COUNT) if nets.find(contact(index)) in roots]


def _entries(
    plus: Sequence[int], minus: Sequence[int | None], millivolts: int, source_ohm: int, kind: str, when: When
) -> list[dict[str, Any]]:
    return [
        {
            "contact": a,
            "other": b,
            "millivolts": millivolts,
            "source_ohm": source_ohm,
            "kind": kind,
            "from_us": in_us(when.from_s),
            "for_us": None if when.for_s is None else in_us(when.for_s),
            "every_us": None if when.every_s is None else in_us(when.every_s),
        }
        for a in plus
        for b in minus
        if a != b
    ]
