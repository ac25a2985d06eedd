"""The rules that a netlist must keep: what would not work, would do nothing, or would not live through 57 V."""

from collections.abc import Iterator
from itertools import chain

from firmware_sim.hardware.part import FREE, GROUND, Board, Part, Pin, Use

POWER_OVER_CABLE_V = 57.0  # IEEE 802.3, greatest voltage at a source, from memory
RAIL_V = 3.63  # what the Pico's rail may come to, from memory
DECOUPLING_F, RAIL_F = 100e-9, 1e-6
BLEED_OHM = 2_000.0
LEAD_OHM = 10.0  # in a supply lead this much does no harm
DRIVES = {Use.OUTPUT, Use.BIDIRECTIONAL, Use.TRI_STATE, Use.POWER_OUT}
Nets = dict[str, tuple[tuple[Part, Pin], ...]]


def broken_rules(board: Board) -> tuple[str, ...]:
    """Return every rule that a board breaks, as sentences; none for a sound one."""
    nets = board.nets()
    checks = (_joined, _driven, _outputs, _currents, _supplies, _amplifiers, _switches, _contacts, _capacitors)
    return tuple(chain.from_iterable(check(board, nets) for check in checks))


def resistors(board: Board) -> Iterator[tuple[str, str, float, Part]]:
    """Give each resistor, sections of networks too: its two nets, ohms, and the part."""
    for part in board.parts:
        if part.kind.quantity is None or "resistor" not in part.kind.name:
            continue
        count = len(part.nets)
        for first in range(count // 2):
            ends = part.nets[first], part.nets[count - 1 - first]
            if FREE not in ends:
                yield *ends, part.kind.quantity, part


def _reached(board: Board, starts: set[str], most_ohm: float = float("inf")) -> set[str]:
    """Return the nets that can be reached from some nets through resistors of at most so many ohms."""
    steps = [(a, b) for a, b, ohm, _ in resistors(board) if ohm <= most_ohm]
    found = set(starts)
    while True:
        more = {b for a, b in steps if a in found} | {a for a, b in steps if b in found}
        if more <= found:
            return found
        found |= more


def _joined(board: Board, nets: Nets) -> Iterator[str]:
    references = [part.reference for part in board.parts]
    for reference in sorted({one for one in references if references.count(one) > 1}):
        yield f"two parts are called {reference}"
    for net, pins in nets.items():
        if len(pins) < 2:
            part, pin = pins[0]
            yield f"net {net} joins nothing but {part.reference} pin {pin.number}"
    for part in board.parts:
        joined = set(part.nets) - {FREE}
        if len(joined) < 2:
            yield f"{part.reference} does nothing: all its pins are on {' '.join(joined) or 'no net'}"


def _driven(board: Board, nets: Nets) -> Iterator[str]:
    for part in board.parts:
        for pin, net in zip(part.kind.pins, part.nets, strict=True):
            if net == FREE and pin.name not in part.kind.free.split():
                yield f"{part.reference} pin {pin.number} ({pin.name}) joins nothing"
    driven = {net for net, pins in nets.items() if any(pin.use in DRIVES for _, pin in pins)}
    powered = {net for net, pins in nets.items() if any(pin.use is Use.POWER_OUT for _, pin in pins)}
    reached, fed = _reached(board, driven), _reached(board, powered, LEAD_OHM)
    for net, pins in nets.items():
        if any(pin.use is Use.INPUT for _, pin in pins) and net not in reached:
            yield f"net {net} has inputs, and nothing drives it"
        if any(pin.use is Use.POWER_IN for _, pin in pins) and net not in fed:
            yield f"net {net} supplies parts, and nothing feeds it"
        if any(part.kind.name == "dual diode" and pin.name in ("A", "K") for part, pin in pins) and net not in fed:
            yield f"clamps push into net {net}, and nothing holds it"
        if any(part.kind.name == "dual diode" and pin.name == "AK" for part, pin in pins) and net not in reached:
            yield f"net {net} is clamped, and nothing drives it"


def _outputs(_: Board, nets: Nets) -> Iterator[str]:
    for net, pins in nets.items():
        if sum(pin.use is Use.OUTPUT for _, pin in pins) > 1:
            yield f"net {net} has two outputs that work against each other"
        if all(pin.use in {Use.OUTPUT, Use.TRI_STATE} for _, pin in pins):
            yield f"net {net} has outputs, and nothing listens"


def _currents(board: Board, nets: Nets) -> Iterator[str]:
    """Find resistors that never carry a current: an end that only inputs see, or that only meets such another."""
    contacts = _contact_nets(board)
    left = list(resistors(board))
    while True:
        kept = [
            (a, b, ohm, part)
            for a, b, ohm, part in left
            if contacts & {a, b} or all(_takes_current(net, part, nets, left) for net in (a, b))
        ]
        if kept == left:
            break
        left = kept
    for a, b, _, part in resistors(board):
        if not any(part is other and {a, b} == {c, d} for c, d, _, other in left):
            yield f"{part.reference} does nothing: no current can flow from {a} to {b}"
    for net, pins in nets.items():
        if len(pins) == 2 and all(part.kind.name == "resistor" for part, _ in pins):
            yield f"net {net} joins two resistors and nothing else"


def _takes_current(net: str, of: Part, nets: Nets, left: list[tuple[str, str, float, Part]]) -> bool:
    resists = {id(part) for a, b, _, part in left if net in (a, b) and part is not of}
    for part, pin in nets[net]:
        if part is of:
            continue
        if id(part) in resists or (pin.use is not Use.INPUT and "resistor" not in part.kind.name):
            return True
    return False


def _supplies(board: Board, _: Nets) -> Iterator[str]:
    """Every part between a supply and a ground has a capacitor of its own across them."""
    needs: dict[frozenset[str], list[str]] = {}
    for part in board.parts:
        rails = frozenset(
            net for pin, net in zip(part.kind.pins, part.nets, strict=True) if pin.use is Use.POWER_IN and net != FREE
        )
        if len(rails) == 2:
            needs.setdefault(rails, []).append(part.reference)
    for rails, references in needs.items():
        across = [
            part
            for part in board.parts
            if part.kind.name == "capacitor" and set(part.nets) == rails
            if DECOUPLING_F * 0.99 <= (part.kind.quantity or 0.0) < RAIL_F
        ]
        if len(across) < len(references):
            yield f"{len(across)} capacitors decouple {' '.join(references)} between {' and '.join(sorted(rails))}"


def _amplifiers(board: Board, _: Nets) -> Iterator[str]:
    for part in board.parts:
        if part.kind.name != "quad op-amp":
            continue
        for number in range(1, 5):
            out, inverting = part.net(f"OUT{number}"), part.net(f"IN{number}-")
            if out != inverting and not any({a, b} == {out, inverting} for a, b, _, _ in resistors(board)):
                yield f"{part.reference} amplifier {number} has no feedback from {out} to {inverting}"


def _switches(board: Board, nets: Nets) -> Iterator[str]:
    """A switched rail is off when nothing drives its gate, is bled, and has a capacitor that holds it."""
    for part in board.parts:
        if part.kind.name != "P-channel FET":
            continue
        gate, source, rail = part.nets
        if not any(pin.use is Use.POWER_OUT for _, pin in nets.get(source, ())):
            yield f"nothing feeds {part.reference} from {source}"
        if not any({a, b} == {gate, source} for a, b, _, _ in resistors(board)):
            yield f"nothing holds {part.reference} off: no resistor from {gate} to {source}"
        if not any({a, b} == {rail, GROUND} and ohm <= BLEED_OHM for a, b, ohm, _ in resistors(board)):
            yield f"nothing bleeds {rail}"
        held = [one.kind.quantity or 0.0 for one in board.parts if one.kind.name == "capacitor" and rail in one.nets]
        if not any(farad >= RAIL_F for farad in held):
            yield f"no capacitor holds {rail}"


def _contact_nets(board: Board) -> set[str]:
    return {net for part in board.parts if part.kind.name == "jack" for net in part.nets} - {FREE}


def _contacts(board: Board, nets: Nets) -> Iterator[str]:
    """Nothing but resistors that stand 57 V touches a contact; behind the one that drives stands a clamp."""
    for net in sorted(_contact_nets(board)):
        for part, _ in nets[net]:
            kind = part.kind
            if kind.name == "jack":
                continue
            if kind.name != "resistor" or not kind.quantity or not kind.tolerance or not kind.watt:
                yield f"{part.reference} is on contact {net}, which may come to {POWER_OVER_CABLE_V:g} V"
                continue
            watt = POWER_OVER_CABLE_V**2 / (kind.quantity * (1 - kind.tolerance))
            if watt > kind.watt or (kind.volt or 0) < POWER_OVER_CABLE_V:
                yield (
                    f"{part.reference} on contact {net} takes {watt:.2f} W at {POWER_OVER_CABLE_V:g} V; "
                    f"it is good for {kind.watt:g} W, {kind.volt:g} V"
                )
            behind = part.nets[1] if part.nets[0] == net else part.nets[0]
            there = [(other, pin) for other, pin in nets.get(behind, ()) if other is not part]
            looked_at = all(pin.use is Use.INPUT for _, pin in there)
            clamps = [other for other, _ in there if other.kind.name == "dual diode"]
            if board.stands_57v and not looked_at and not any(clamp.nets[0] == GROUND for clamp in clamps):
                yield f"no clamp behind {part.reference} of contact {net}"


def _capacitors(board: Board, _: Nets) -> Iterator[str]:
    for part in board.parts:
        if part.kind.name == "capacitor" and (part.kind.volt or 0) < 2 * RAIL_V:
            yield f"{part.reference} is good for {part.kind.volt} V only"
