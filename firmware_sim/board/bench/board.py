"""The bench board: pins, ports and converters around its nodes, and the only place that moves them."""

from firmware_sim.board.bench.chips import (
    Amplifiers,
    FineConverter,
    Port,
    QuickConverter,
)
from firmware_sim.board.bench.nodes import Nodes
from firmware_sim.board.bench.off import put_off
from firmware_sim.board.bench.values import CONTACTS, SIDE, Values
from firmware_sim.board.bench.wiring import Wiring
from firmware_sim.board.cable import Cable
from firmware_sim.board.clock import Clock, Watched
from firmware_sim.board.noise import Noise

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

# Pins of the chip.
CHANNEL_A, CHANNEL_B = 2, 6  # lowest of four address pins each
UP_A, LIFT, RAIL = 10, 14, 15  # UP_A, DN_A, UP_B, DN_B follow each other
SELECT = 17
CONVERTER_ADDRESS = 0x48
STEP_BIT, PEDESTAL_BIT = 10, 11  # of a port: contacts are on bits 0 to 6 and 8, 9
# What a call takes in MicroPython on the chip, microseconds (estimates; none was measured).
PORT_US, QUICK_US, PIN_US = 30, 8, 3

FAULTS = ("port near", "port far", "rail", "converter", "amplifier", "multiplexer a", "multiplexer b")
PART_FAULTS = ("step a", "step b", "up a", "up b", "down a", "down b")


class BenchBoard(Watched):
    """A bench board with a cable in its sockets; described: the tables' "board", faults as in the two lists."""

    conversion_us = QUICK_US
    pin_us = PIN_US

    def __init__(self, clock: Clock, cable: Cable, noise: Noise, described: "dict[str, Any]") -> None:
        super().__init__(clock)
        self.cable = cable
        values = Values(described)
        self.faults: "list[str]" = (described.get("faults") or []) + put_off(values, described)
        for number, parts in enumerate((values.step_pf, values.up_us, values.down_us)):
            for side in range(2):
                if PART_FAULTS[2 * number + side] in self.faults:
                    parts[side] = 0.0
        self.nodes = Nodes(values, cable, clock)
        self.nodes.dead = ("multiplexer a" in self.faults, "multiplexer b" in self.faults)
        self.ports = (Port(0), Port(1))
        self.outputs = 0
        self.directions = 0
        amplifiers = Amplifiers(self.nodes, "amplifier" in self.faults)
        self._quick = QuickConverter(self.nodes, amplifiers, noise)
        self._fine = FineConverter(self.nodes, amplifiers, noise)
        self.note: "Callable[[int, str, int, int], None] | None" = None

    # The chip's pins.

    def reset(self) -> None:
        """Make every pin of the chip an input: the rail goes off."""
        self.set_outputs(0, 0)

    def set_outputs(self, levels: int, directions: int) -> None:
        """Take over new levels of the chip's outputs."""
        changed = (levels ^ self.outputs) | (directions ^ self.directions)
        self.outputs = levels
        self.directions = directions
        if changed & ~(1 << SELECT):
            self._rewire()

    def level(self, number: int) -> int:
        """Return the level of a pin; the gate of the rail's switch is pulled up, what else is not driven is low."""
        if self.directions >> number & 1:
            return self.outputs >> number & 1
        return 1 if number == RAIL else 0

    # What hangs on it.

    def converted(self, channel: int) -> int:
        """Convert input 0 (buffer A) or 1 (buffer B) once, 0 to 4095."""
        self._fine.average(self.clock.now_us)
        return self._quick.count(channel)

    def transfer(self, sent: bytes) -> bytes:
        """Pass a message to the ports, and return what one of them answers."""
        self.advance(PORT_US)
        answer = None
        if self.nodes.wiring.powered and not self.level(SELECT):
            for port, name in zip(self.ports, FAULTS):
                if name not in self.faults:
                    answer = port.transfer(sent) or answer
            self._rewire()
        return answer or bytes(len(sent))

    def addresses(self) -> "list[int]":
        """Return the I2C addresses at which somebody answers."""
        return [] if "converter" in self.faults or not self.nodes.wiring.powered else [CONVERTER_ADDRESS]

    def write(self, address: int, content: bytes) -> None:
        """Write to a part on I2C."""
        if address not in self.addresses():
            raise OSError(5)
        self._fine.write(content, self.clock.now_us)

    def read(self, address: int, count: int) -> bytes:
        """Read from a part on I2C."""
        if address not in self.addresses():
            raise OSError(5)
        return self._fine.read(count, self.clock.now_us)

    def _rewire(self) -> None:
        """Let the nodes feel what pins and ports now do, and note what is driven from now on."""
        wiring = self._wired()
        before = self.nodes.wiring
        if wiring.same() == before.same():
            return
        self._fine.average(self.clock.now_us)
        volts = self.nodes.volts()
        if wiring.powered != before.powered:
            for port in self.ports:
                port.power_up()
        self.nodes.end_change(volts, wiring, self._charges(before, wiring))
        if self.note:
            for contact in range(CONTACTS):
                if (wiring.high & ~before.high) >> contact & 1:
                    self.note(self.clock.now_us, "source", contact, -1)
            if wiring.pulls & ~before.pulls & 5:
                self.note(self.clock.now_us, "up", wiring.channels[0], wiring.channels[1])

    def _wired(self) -> Wiring:
        driven = self.outputs & self.directions
        wiring = Wiring()
        wiring.powered = not self.level(RAIL) and "rail" not in self.faults
        if not wiring.powered:
            return wiring
        wiring.channels = (driven >> CHANNEL_A & 15, driven >> CHANNEL_B & 15)
        for pull in range(4):
            if self.directions >> UP_A + pull & 1:
                if (driven >> UP_A + pull & 1) == pull & 1:
                    raise ValueError("a pull is driven the wrong way")
                wiring.pulls |= 1 << pull
        wiring.lifted = bool(self.level(LIFT))
        for side, port in enumerate(self.ports):
            low, high = (_contacts(pins) << SIDE * side for pins in port.driven())
            wiring.low |= low
            wiring.high |= high
            up = port.driven()[1]
            wiring.steps |= (up >> STEP_BIT & 1 | (up >> PEDESTAL_BIT & 1) << 1) << 2 * side
        return wiring

    def _charges(self, before: Wiring, after: Wiring) -> "dict[int, float]":
        """Return what multiplexers that turn and pins that let go leave behind, picocoulomb by node."""
        values = self.nodes.values
        found: "dict[int, float]" = {}
        for side in range(2):
            if before.channels[side] != after.channels[side]:
                found[CONTACTS + side] = values.injection_pf_v[side]
        let_go = (before.low | before.high) & ~(after.low | after.high)
        for contact in range(CONTACTS):
            if let_go >> contact & 1:
                found[contact] = values.port_injection_pf_v[contact]
        return found


def _contacts(pins: int) -> int:
    """Return the contacts of a side, a bit each, on a port's pins."""
    return pins & 0x7F | (pins >> 8 & 3) << 7
