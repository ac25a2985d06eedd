"""The whole board: its parts put together, and the only place that moves pins and switches."""

from firmware_sim.board.cable import Cable
from firmware_sim.board.circuit import Circuit
from firmware_sim.board.clock import Clock, Watched
from firmware_sim.board.comparator import NEVER_PS, Comparator
from firmware_sim.board.noise import Noise
from firmware_sim.board.switchboard import COMPARATOR, DISCHARGE, ECHO_SWITCH, FORCE, STEP, VOLTMETER, Switchboard

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable


class Board(Watched):
    """A board with a cable in its sockets, as the chip's program finds it."""

    conversion_us = 2
    pin_us = 0  # what a pin takes is not counted

    def __init__(self, clock: Clock, cable: Cable, noise: Noise, faults: "list[str]") -> None:
        super().__init__(clock)
        self.cable = cable
        self.noise = noise
        self.faults = faults
        self.switchboard = Switchboard(clock)
        self.circuit = Circuit(self.switchboard, cable, noise, faults)
        self.comparator = Comparator(self.switchboard, cable, noise)
        self.note: "Callable[[int, str, int, int], None] | None" = None  # takes down what is driven from now on

    def reset(self) -> None:
        """Make every pin of the chip an input."""
        self.set_outputs(0, 0)

    # Pins and switches.

    def set_outputs(self, levels: int, directions: int) -> None:
        """Take over new levels of the chip's outputs, and note what is driven from now on."""
        switchboard = self.switchboard
        ties_change = (switchboard.outputs ^ levels) >> DISCHARGE & 1
        if ties_change:
            self.comparator.settle(self.clock.now_us)
        switchboard.outputs = levels
        switchboard.directions = directions
        if ties_change:
            self.comparator.settle(self.clock.now_us)
        if self.note:
            self._note_all()

    def set_switches(self, bits: int) -> None:
        """Take over new switches, and note what is driven from now on."""
        self.switchboard.switches = bits
        self.comparator.settle(self.clock.now_us)
        if self.note:
            self._note_all()

    def level(self, number: int) -> int:
        """Return what the chip reads at a pin now."""
        return self.input_level(number, self.clock.now_us * 1_000_000)

    def converted(self, channel: int) -> int:
        """Return one reading of an input of the chip's converter, 0 to 4095."""
        return self.circuit.channel(channel)

    # What a state machine sees and does, in picoseconds.

    def input_level(self, pin: int, at_ps: int) -> int:
        """Return a pin's level at a moment."""
        return self.comparator.level(at_ps) if pin == COMPARATOR else self.switchboard.pin(pin)

    def next_change(self, pin: int, after_ps: int) -> int:
        """Return when an input changes next."""
        return self.comparator.next_change(after_ps) if pin == COMPARATOR else NEVER_PS

    def set_pin(self, pin: int, level: int, at_ps: int) -> None:
        """Drive a pin; of all pins only the step's time matters to the picosecond."""
        bit = 1 << pin
        switchboard = self.switchboard
        self.set_outputs(
            switchboard.outputs | bit if level else switchboard.outputs & ~bit, switchboard.directions | bit
        )
        if pin == STEP:
            self.comparator.step(level, at_ps)

    def _note_all(self) -> None:
        """Note in the log: source (or step) on a contact, a contact loaded, contacts tied."""
        assert self.note
        switchboard = self.switchboard
        now = self.clock.now_us
        if switchboard.tied():
            self.note(now, "tie", switchboard.tied(), 0)
        live = switchboard.live()
        if switchboard.closed() & ECHO_SWITCH:
            self.note(now, "echo", switchboard.echo_pair(), live)
        if switchboard.pin(FORCE):
            high, low = switchboard.selected()
            if high >= 0 and switchboard.range() != VOLTMETER:
                self.note(now, "source" if live else "load", high, low)
