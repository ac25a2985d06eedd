"""The whole board: its parts put together, and the only place that moves pins and switches."""

from firmware_sim.board.cable import Cable
from firmware_sim.board.circuit import Circuit
from firmware_sim.board.clock import Clock
from firmware_sim.board.comparator import NEVER_PS, Comparator
from firmware_sim.board.noise import Noise
from firmware_sim.board.switchboard import COMPARATOR, DISCHARGE, ECHO_SWITCH, FORCE, STEP, VOLTMETER, Switchboard

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable


class WatchdogReset(SystemExit):
    """The loop stopped feeding the watchdog: the chip resets and every pin is an input again."""


class Board:
    """A board with a cable in its sockets, as the chip's program finds it."""

    def __init__(self, clock: Clock, cable: Cable, noise: Noise, faults: "list[str]") -> None:
        self.clock = clock
        self.cable = cable
        self.noise = noise
        self.faults = faults
        self.switchboard = Switchboard(clock)
        self.circuit = Circuit(self.switchboard, cable, noise, faults)
        self.comparator = Comparator(self.switchboard, cable, noise)
        self.note: "Callable[[int, str, int, int], None] | None" = None  # takes down what is driven from now on
        self._watchdog_us = 0
        self._reset_at_us = 0  # when the watchdog strikes, 0 = not armed

    # Time.

    def advance(self, us: int) -> None:
        """Let time pass; a watchdog that was not fed makes every pin of the chip an input, as a reset does.

        What hangs on the bus stays as it is.
        """
        self.clock.advance(us)
        if self._reset_at_us and self.clock.now_us > self._reset_at_us:
            self.set_outputs(0, 0)
            raise WatchdogReset

    def start_watchdog(self, us: int) -> None:
        """Reset the chip unless the watchdog is fed at least so often."""
        self._watchdog_us = us
        self.feed_watchdog()

    def feed_watchdog(self) -> None:
        """Put the reset off."""
        self.clock.idle()
        self._reset_at_us = self.clock.now_us + self._watchdog_us

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
