"""The bare board as its chip's program finds it: pins that hold contacts low or high, or let go of them and read."""

from firmware_sim.board.bare.nodes import CONTACTS, BareNodes
from firmware_sim.board.cable import Cable
from firmware_sim.board.clock import Clock, Watched
from firmware_sim.board.noise import Noise

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

# The pin behind each contact's resistor, by board: near 1-8 and S, then far 1-8 and S.
PINS = {
    "bare": tuple(range(18)),
    "bare-esp32": (4, 5, 13, 14, 16, 17, 18, 19, 2, 21, 22, 23, 25, 26, 27, 32, 33, 15),
}
HIGH_V = 3.3
PIN_US = 4  # what one call to a pin takes in MicroPython (estimate; not measured)
# Where a pin turns to high: between 0.8 and 2.0 V on the one, a quarter to three quarters of 3.3 V on the other, of
# which it is taken for likely that it is near the middle (from memory).
THRESHOLDS_V = {"bare": (1.4, 1.9), "bare-esp32": (1.4, 2.2)}


class BareBoard(Watched):
    """A bare board with a cable in its sockets; described: the tables' "board", with

    name          "bare", or "bare-esp32" for another chip
    threshold_v   of every pin, else each pin has one of its own, drawn from the seed
    leak_na       what every pin leaks towards the supply, nanoampere (10)
    faults        "low N", "high N": the pin of contact N (from 0) is held by something on the board
    """

    conversion_us = 0
    pin_us = PIN_US

    def __init__(self, clock: Clock, cable: Cable, noise: Noise, described: "dict[str, Any]") -> None:
        super().__init__(clock)
        self.cable = cable
        self.outputs = 0
        self.directions = 0
        self.pins = PINS[described["name"]]
        low_v, high_v = THRESHOLDS_V[described["name"]]
        drawn = [low_v + (high_v - low_v) * (noise.bits() >> 8) / (1 << 24) for _ in range(CONTACTS)]
        self._threshold_v: "list[float]" = [described.get("threshold_v") or value for value in drawn]
        self._held = {int(text.split()[1]): HIGH_V if text[0] == "h" else 0.0 for text in described.get("faults") or []}
        self.nodes = BareNodes(cable, clock, described.get("leak_na", 10.0))
        self.nodes.drive(dict(self._held))
        self.note: "Callable[[int, str, int, int], None] | None" = None  # takes down what is driven from now on

    def reset(self) -> None:
        """Make every pin of the chip an input."""
        self.set_outputs(0, 0)

    def set_outputs(self, levels: int, directions: int) -> None:
        """Take over new levels of the chip's outputs, and note which contacts are held high and low from now on."""
        if (levels & directions, directions) == (self.outputs & self.directions, self.directions):
            self.outputs = levels
            return
        self.outputs = levels
        self.directions = directions
        held = dict(self._held)
        high = low = 0
        for contact, pin in enumerate(self.pins):
            if directions >> pin & 1:
                up = levels >> pin & 1
                held[contact] = HIGH_V if up else 0.0
                high |= up << contact
                low |= (1 - up) << contact
        self.nodes.drive(held)
        if self.note:
            self.note(self.clock.now_us, "hold", high, low)

    def level(self, number: int) -> int:
        """Return what the chip reads at a pin now."""
        if self.directions >> number & 1:
            return self.outputs >> number & 1
        contact = self.pins.index(number)
        if contact in self._held:
            return int(self._held[contact] > 0)
        return int(self.nodes.volts()[contact] > self._threshold_v[contact])

    def converted(self, channel: int) -> int:
        """Nothing hangs on the chip's converter."""
        raise ValueError("input %d of the converter leads nowhere" % channel)
