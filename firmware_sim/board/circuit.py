"""The board between chip and sockets: from the state of its pins and switches to what its converters see.

Voltages are microvolts, resistances ohm unless a name says otherwise.
"""

from math import exp

from firmware_sim.board import levels, parts
from firmware_sim.board.cable import Cable
from firmware_sim.board.clock import Clock
from firmware_sim.board.noise import Noise

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable

    from firmware_sim.board.comparator import Comparator

PATH_OHM = parts.FUSE_OHM + parts.SERIES_OHM + parts.MULTIPLEXER_OHM
OPEN_OHM = 1 << 40

# Counts of the chip's converter times 1024, for a billion microvolts; and its offset.
COUNT_SCALE = 4096 * 1024 * (1_000_000 + levels.GAIN_PPM) // (parts.SUPPLY_MV)
OFFSET_X1024 = levels.ADC12_OFFSET_LSB * 1024

FORCE, SENSE, SOURCE, STEP, COMPARATOR, DISCHARGE = 12, 13, 14, 15, 16, 22
RANGE_LOW, ECHO_LOW = 18, 20  # two pins each
VOLTMETER, FULL, PROBE, CHARGE = 0, 1, 2, 3

ECHO_SWITCH, JOIN_SWITCH, LOW_SWITCH = 1 << 18, 1 << 19, 1 << 20
TIES = (1 << 18) - 1


class Circuit:
    """All outputs of the chip and of the bus parts, and what they make of the cable."""

    def __init__(self, clock: Clock, cable: Cable, noise: Noise, faults: "list[str]") -> None:
        self.clock = clock
        self.cable = cable
        self.noise = noise
        self.faults = faults
        self.outputs = 0  # levels of the pins that are outputs
        self.directions = 0
        self.switches = 0
        self.switch_outputs = False
        self.delay_counts = 0
        self.threshold_u16 = 0
        self._threshold_from = (0, 0)  # what it was when it was set anew, and when (us)
        self._known: "dict[int, tuple[int, int, int]]" = {}  # what force() found, by pins and switches
        self._known_until_us = -1
        self.note: "Callable[[int, str, int, int], None] | None" = None
        self.comparator: "Comparator | None" = None

        clock.on_reset.append(self._reset)

    def _reset(self) -> None:
        """Make every pin of the chip an input, as a reset does; what hangs on the bus stays as it is."""
        self.set_outputs(0, 0)

    # What the pins say.

    def pin(self, number: int) -> int:
        """Return the level a pin has on the board: undriven ones are pulled down."""
        return (self.outputs & self.directions) >> number & 1

    def address(self, high: bool) -> int:
        """Return the multiplexer address of one side."""
        return (self.outputs & self.directions) >> (2 if high else 7) & 31

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

    def set_outputs(self, levels_now: int, directions: int) -> None:
        """Take over new levels of the chip's outputs, and note what is driven from now on."""
        ties_change = (self.outputs ^ levels_now) >> DISCHARGE & 1
        if ties_change and self.comparator:
            self.comparator.settle(self.clock.now_us)
        self.outputs = levels_now
        self.directions = directions
        if ties_change and self.comparator:
            self.comparator.settle(self.clock.now_us)
        if self.note:
            self._note_all()

    def set_threshold(self, share: int) -> None:
        """Take over a new pulse width for the threshold, which the filter follows."""
        self._threshold_from = (self.threshold(), self.clock.now_us)
        self.threshold_u16 = share

    def threshold(self) -> int:
        """Return where the threshold is by now, in 65536ths of the supply."""
        before, since_us = self._threshold_from
        gone = exp(-(self.clock.now_us - since_us) / parts.THRESHOLD_US)
        return self.threshold_u16 + round((before - self.threshold_u16) * gone)

    def set_switches(self, bits: int) -> None:
        """Take over new switches, and note what is driven from now on."""
        self.switches = bits
        if self.comparator:
            self.comparator.settle(self.clock.now_us)
        if self.note:
            self._note_all()

    # What a state machine sees and does, in picoseconds.

    def input_level(self, pin: int, at_ps: int) -> int:
        """Return a pin's level at a moment."""
        if pin == COMPARATOR and self.comparator:
            return self.comparator.level(at_ps)
        return self.pin(pin)

    def next_change(self, pin: int, after_ps: int) -> int:
        """Return when an input changes next."""
        return self.comparator.next_change(after_ps) if pin == COMPARATOR and self.comparator else 1 << 60

    def set_pin(self, pin: int, level: int, at_ps: int) -> None:
        """Drive a pin; of all pins only the step's time matters to the picosecond."""
        bit = 1 << pin
        self.set_outputs(self.outputs | bit if level else self.outputs & ~bit, self.directions | bit)
        if pin == STEP and self.comparator:
            self.comparator.step(level, at_ps)

    def _note_all(self) -> None:
        """Note in the log: source (or step) on a contact, a contact loaded, contacts tied."""
        assert self.note
        now = self.clock.now_us
        if self.tied():
            self.note(now, "tie", self.tied(), 0)
        live = self.pin(SOURCE) or self.pin(STEP)
        if self.closed() & ECHO_SWITCH:
            self.note(now, "echo", self.echo_pair(), live)
        if self.pin(FORCE):
            high = parts.contact_at(self.address(True))
            low = parts.contact_at(self.address(False))
            if high >= 0 and self.range() != VOLTMETER:
                self.note(now, "source" if live else "load", high, low)

    def level(self, number: int) -> int:
        """Return what the chip reads at a pin."""
        if number == COMPARATOR:
            return self.input_level(number, self.clock.now_us * 1_000_000)
        return self.pin(number)

    # What stands between two multiplexer addresses.

    def _between(self, high: int, low: int) -> int:
        """Return the ohm, in thousandths, between what two addresses lead to; OPEN_OHM when nothing does."""
        a, b = parts.contact_at(high), parts.contact_at(low)
        if a >= 0 and b >= 0:
            if a == b:
                return 0
            if self.closed() & LOW_SWITCH:
                found = self.cable.low_milliohm(a, b, self.clock.now_us)
            else:
                found = self.cable.milliohm(a, b, self.clock.now_us)
            return OPEN_OHM if found is None else found
        if high == low == parts.LINK_ADDRESS:
            return OPEN_OHM if "link" in self.faults else 0
        if high == low == parts.KNOWN_ADDRESS:
            return parts.KNOWN_OHM * 1000
        return OPEN_OHM

    def _feed(self) -> "tuple[int, int]":
        """Return (microvolts, ohm) of what feeds the high bus."""
        feed = parts.FEED_OHM[self.range()]
        volts = parts.SUPPLY_MV * 1000 if self.pin(SOURCE) or self.pin(STEP) else 0
        if feed is None:
            return 0, OPEN_OHM
        if self.closed() & LOW_SWITCH:
            return volts * parts.LOW_LEVEL_OHM // (feed + parts.LOW_LEVEL_OHM), (
                feed * parts.LOW_LEVEL_OHM // (feed + parts.LOW_LEVEL_OHM)
            )
        return volts, feed

    def _emf(self, high: int, low: int) -> "tuple[int, int]":
        """Return (microvolts, ohm) of a voltage that stands between two addresses, not from the tester."""
        a, b = parts.contact_at(high), parts.contact_at(low)
        if not self.cable.has_sources or a < 0:
            return 0, 0
        isolated, ohm = self.cable.source(a, b, self.clock.now_us) if b >= 0 else (0, 0)
        if isolated == 0:
            isolated, ohm = self.cable.source(a, None, self.clock.now_us)
        return isolated * 1000, ohm

    def force(self) -> "tuple[int, int, int]":
        """Return (high bus, between the two contacts, across the shunt), microvolts, with the force path as it is."""
        if self.cable.has_sources:
            return self._force()
        if self.clock.now_us >= self._known_until_us:
            self._known = {}
            self._known_until_us = self.cable.until_us(self.clock.now_us)
        key = self.outputs & self.directions | self.closed() << 32
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = self._force()
        return found

    def _force(self) -> "tuple[int, int, int]":
        volts, feed = self._feed()
        if not self.pin(FORCE):
            return volts, 0, 0
        high, low = self.address(True), self.address(False)
        a = parts.contact_at(high)
        tied = self.tied()
        if tied and a >= 0:
            between = self._to_ties(a, tied)
            total = PATH_OHM * 1000 + between
            return volts * total // (total + feed * 1000), 0, 0
        between = self._between(high, low)
        emf, source_ohm = self._emf(high, low)
        if emf:
            between = min(between, source_ohm * 1000)
        shunt = OPEN_OHM if self.range() == VOLTMETER else parts.SHUNT_OHM * 1000
        loop = between + 2 * PATH_OHM * 1000 + shunt
        rest = feed * 1000
        current = volts - emf
        bus = emf + current * loop // (loop + rest) if current >= 0 else emf - (-current * loop // (loop + rest))
        bus = max(-parts.DIODE_MV * 1000, min(bus, parts.CLAMP_MV * 1000))
        across = emf + current * between // (loop + rest)
        through = current * shunt // (loop + rest) if shunt != OPEN_OHM else 0
        return bus, across, through

    def _to_ties(self, a: int, tied: int) -> int:
        """Return the milliohm from a contact to ground through every tied contact that it is joined to."""
        siemens = 0  # in 1e-12
        row = self.cable.rows(self.clock.now_us)[a]
        for contact in range(self.cable.size):
            milliohm = row[contact]
            if tied >> contact & 1 and milliohm is not None and milliohm < 1_000_000_000:
                siemens += 1_000_000_000_000_000 // (parts.TIE_OHM * 1000 + milliohm)
        return 1_000_000_000_000_000 // siemens if siemens else OPEN_OHM

    def sense(self) -> "tuple[int, int]":
        """Return (high, low) sense bus against the middle of the supply, microvolts, while the voltmeter is chosen."""
        if not self.pin(SENSE) or not self.cable.has_sources:
            return 0, 0
        high, low = self.address(True), self.address(False)
        a, b = parts.contact_at(high), parts.contact_at(low)
        found = [0, 0]
        load = parts.SENSE_OHM + parts.DIVIDER_OHM
        if a >= 0 and b >= 0:
            millivolts, ohm = self.cable.source(a, b, self.clock.now_us)
            if millivolts:
                half = millivolts * 1000 * parts.DIVIDER_OHM // (2 * load + ohm)
                found = [half, -half]
        for side, contact in enumerate((a, b)):
            if contact >= 0:
                millivolts, ohm = self.cable.source(contact, None, self.clock.now_us)
                if millivolts or (contact, None) in self.cable.grounded:
                    found[side] += (millivolts - parts.MIDDLE_MV) * 1000 * parts.DIVIDER_OHM // (load + ohm)
        return found[0], found[1]

    # What the converters make of it.

    def counts_12(self, microvolts: int) -> int:
        """Return one reading of the chip's converter, 0 to 4095."""
        count = (microvolts * COUNT_SCALE // 1_000_000_000 + OFFSET_X1024 + self.noise.converter()) >> 10
        return 0 if count < 0 else 4095 if count > 4095 else count

    def channel(self, number: int) -> int:
        """Return a reading of converter input 0 (high bus), 1 (high sense bus) or 2 (middle of the supply)."""
        if number == 0:
            return self.counts_12(self.force()[0])
        middle = parts.MIDDLE_MV * 1000
        if number == 1:
            if self.range() != VOLTMETER:
                return self.counts_12(0)
            return self.counts_12(middle + self.sense()[0])
        return self.counts_12(0 if "reference" in self.faults else middle)

    def difference(self, shunt: bool) -> int:
        """Return what the 16-bit converter has at its inputs: across the shunt, or sense high - sense low."""
        if shunt:
            return self.force()[2]
        if self.range() == VOLTMETER:
            high, low = self.sense()
            return high - low
        return self.force()[1] if self.pin(SENSE) else 0
