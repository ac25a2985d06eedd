"""The switchboard: which pins, multiplexers and switches stand how, at the board's own time.

Every part that looks at the cable reads it; it knows none of them.
"""

from math import exp

from firmware_sim.board import parts
from firmware_sim.board.clock import Clock

# Pins of the chip.
FORCE, SENSE, SOURCE, STEP, COMPARATOR, DISCHARGE = 12, 13, 14, 15, 16, 22
HIGH_LOW, LOW_LOW = 2, 7  # lowest of the five address pins of the high and of the low side
RANGE_LOW, ECHO_LOW = 18, 20  # two pins each

# What feeds the high bus.
VOLTMETER, FULL, PROBE, CHARGE = 0, 1, 2, 3

# Switches of the output expander, and the contacts it ties, a bit each.
ECHO_SWITCH, JOIN_SWITCH, LOW_SWITCH = 1 << 18, 1 << 19, 1 << 20
TIES = (1 << 18) - 1


class Switchboard:
    """Levels of the chip's outputs, the expander's switches, the step's delay and the comparator's threshold."""

    def __init__(self, clock: Clock) -> None:
        self.clock = clock
        self.outputs = 0  # levels of the pins that are outputs
        self.directions = 0
        self.switches = 0
        self.switch_outputs = False
        self.delay_counts = 0
        self._threshold_u16 = 0
        self._threshold_from = (0, 0)  # what it was when it was set anew, and when (us)

    def pin(self, number: int) -> int:
        """Return the level a pin has on the board: undriven ones are pulled down."""
        return (self.outputs & self.directions) >> number & 1

    def address(self, high: bool) -> int:
        """Return the multiplexer address of one side."""
        return (self.outputs & self.directions) >> (HIGH_LOW if high else LOW_LOW) & 31

    def range(self) -> int:
        """Return what is chosen to feed the high bus."""
        return (self.outputs & self.directions) >> RANGE_LOW & 3

    def closed(self) -> int:
        """Return the bus part's switches that are closed."""
        return self.switches if self.switch_outputs else 0

    def tied(self) -> int:
        """Return the contacts tied low, a bit each."""
        if self.pin(DISCHARGE):
            return TIES
        return self.closed() & TIES

    def echo_pair(self) -> int:
        """Return which pair of the near plug the echo stage is set to."""
        return (self.outputs & self.directions) >> ECHO_LOW & 3

    def live(self) -> int:
        """Return whether the source, or the step beside it, is up."""
        return self.pin(SOURCE) or self.pin(STEP)

    def selected(self) -> "tuple[int, int]":
        """Return the contacts that the high and the low side lead to, -1 for an address that leads to none."""
        return parts.contact_at(self.address(True)), parts.contact_at(self.address(False))

    def set_threshold(self, share: int) -> None:
        """Take over a new pulse width for the threshold, which the filter follows."""
        self._threshold_from = (self.threshold(), self.clock.now_us)
        self._threshold_u16 = share

    def threshold(self) -> int:
        """Return where the threshold is by now, in 65536ths of the supply."""
        before, since_us = self._threshold_from
        gone = exp(-(self.clock.now_us - since_us) / parts.THRESHOLD_US)
        return self._threshold_u16 + round((before - self._threshold_u16) * gone)
