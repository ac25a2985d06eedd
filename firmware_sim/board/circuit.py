"""The circuit between chip and sockets: what the converters see as pins and switches stand.

Voltages are microvolts, resistances ohm unless a name says otherwise.
"""

from firmware_sim.board import levels, parts
from firmware_sim.board.cable import Cable
from firmware_sim.board.noise import Noise
from firmware_sim.board.switchboard import FORCE, LOW_SWITCH, SENSE, VOLTMETER, Switchboard

OPEN_OHM = 1 << 40

# Counts of the chip's converter times 1024, for a billion microvolts; and its offset.
COUNT_SCALE = 4096 * 1024 * (1_000_000 + levels.GAIN_PPM) // (parts.SUPPLY_MV)
OFFSET_X1024 = levels.ADC12_OFFSET_LSB * 1024


class Circuit:
    """What the state of the switchboard makes of the cable; faults: "link", "reference"."""

    def __init__(self, switchboard: Switchboard, cable: Cable, noise: Noise, faults: "list[str]") -> None:
        self._switchboard = switchboard
        self._clock = switchboard.clock
        self._cable = cable
        self._noise = noise
        self._faults = faults
        self._known: "dict[int, tuple[int, int, int]]" = {}  # what force() found, by pins and switches
        self._known_until_us = -1

    # What stands between two multiplexer addresses.

    def _between(self, high: int, low: int) -> int:
        """Return the ohm, in thousandths, between what two addresses lead to; OPEN_OHM when nothing does."""
        a, b = parts.contact_at(high), parts.contact_at(low)
        if a >= 0 and b >= 0:
            if a == b:
                return 0
            if self._switchboard.closed() & LOW_SWITCH:
                found = self._cable.low_milliohm(a, b, self._clock.now_us)
            else:
                found = self._cable.milliohm(a, b, self._clock.now_us)
            return OPEN_OHM if found is None else found
        if high == low == parts.LINK_ADDRESS:
            return OPEN_OHM if "link" in self._faults else 0
        if high == low == parts.KNOWN_ADDRESS:
            return parts.KNOWN_OHM * 1000
        return OPEN_OHM

    def _feed(self) -> "tuple[int, int]":
        """Return (microvolts, ohm) of what feeds the high bus."""
        feed = parts.FEED_OHM[self._switchboard.range()]
        volts = parts.SUPPLY_MV * 1000 if self._switchboard.live() else 0
        if feed is None:
            return 0, OPEN_OHM
        if self._switchboard.closed() & LOW_SWITCH:
            return volts * parts.LOW_LEVEL_OHM // (feed + parts.LOW_LEVEL_OHM), (
                feed * parts.LOW_LEVEL_OHM // (feed + parts.LOW_LEVEL_OHM)
            )
        return volts, feed

    def _emf(self, high: int, low: int) -> "tuple[int, int]":
        """Return (microvolts, ohm) of a voltage that stands between two addresses, not from the tester."""
        a, b = parts.contact_at(high), parts.contact_at(low)
        if not self._cable.has_sources or a < 0:
            return 0, 0
        isolated, ohm = self._cable.source(a, b, self._clock.now_us) if b >= 0 else (0, 0)
        if isolated == 0:
            isolated, ohm = self._cable.source(a, None, self._clock.now_us)
        return isolated * 1000, ohm

    def force(self) -> "tuple[int, int, int]":
        """Return (high bus, between the two contacts, across the shunt), microvolts, with the force path as it is."""
        if self._cable.has_sources:
            return self._force()
        if self._clock.now_us >= self._known_until_us:
            self._known = {}
            self._known_until_us = self._cable.until_us(self._clock.now_us)
        key = self._switchboard.outputs & self._switchboard.directions | self._switchboard.closed() << 32
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = self._force()
        return found

    def _force(self) -> "tuple[int, int, int]":
        volts, feed = self._feed()
        if not self._switchboard.pin(FORCE):
            return volts, 0, 0
        high, low = self._switchboard.address(True), self._switchboard.address(False)
        a = parts.contact_at(high)
        tied = self._switchboard.tied()
        if tied and a >= 0:
            between = self._to_ties(a, tied)
            total = parts.PATH_OHM * 1000 + between
            return volts * total // (total + feed * 1000), 0, 0
        between = self._between(high, low)
        emf, source_ohm = self._emf(high, low)
        if emf:
            between = min(between, source_ohm * 1000)
        shunt = OPEN_OHM if self._switchboard.range() == VOLTMETER else parts.SHUNT_OHM * 1000
        loop = between + 2 * parts.PATH_OHM * 1000 + shunt
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
        row = self._cable.rows(self._clock.now_us)[a]
        for contact in range(self._cable.size):
            milliohm = row[contact]
            if tied >> contact & 1 and milliohm is not None and milliohm < 1_000_000_000:
                siemens += 1_000_000_000_000_000 // (parts.TIE_OHM * 1000 + milliohm)
        return 1_000_000_000_000_000 // siemens if siemens else OPEN_OHM

    def sense(self) -> "tuple[int, int]":
        """Return (high, low) sense bus against the middle of the supply, microvolts, while the voltmeter is chosen."""
        if not self._switchboard.pin(SENSE) or not self._cable.has_sources:
            return 0, 0
        a, b = self._switchboard.selected()
        found = [0, 0]
        load = parts.SENSE_OHM + parts.DIVIDER_OHM
        if a >= 0 and b >= 0:
            millivolts, ohm = self._cable.source(a, b, self._clock.now_us)
            if millivolts:
                half = millivolts * 1000 * parts.DIVIDER_OHM // (2 * load + ohm)
                found = [half, -half]
        for side, contact in enumerate((a, b)):
            if contact >= 0:
                millivolts, ohm = self._cable.source(contact, None, self._clock.now_us)
                if millivolts or (contact, None) in self._cable.grounded:
                    found[side] += (millivolts - parts.MIDDLE_MV) * 1000 * parts.DIVIDER_OHM // (load + ohm)
        return found[0], found[1]

    # What the converters make of it.

    def counts_12(self, microvolts: int) -> int:
        """Return one reading of the chip's converter, 0 to 4095."""
        count = (microvolts * COUNT_SCALE // 1_000_000_000 + OFFSET_X1024 + self._noise.converter()) >> 10
        return 0 if count < 0 else 4095 if count > 4095 else count

    def channel(self, number: int) -> int:
        """Return a reading of converter input 0 (high bus), 1 (high sense bus) or 2 (middle of the supply)."""
        if number == 0:
            return self.counts_12(self.force()[0])
        middle = parts.MIDDLE_MV * 1000
        if number == 1:
            if self._switchboard.range() != VOLTMETER:
                return self.counts_12(0)
            return self.counts_12(middle + self.sense()[0])
        return self.counts_12(0 if "reference" in self._faults else middle)

    def difference(self, shunt: bool) -> int:
        """Return what the 16-bit converter has at its inputs: across the shunt, or sense high - sense low."""
        if shunt:
            return self.force()[2]
        if self._switchboard.range() == VOLTMETER:
            high, low = self.sense()
            return high - low
        return self.force()[1] if self._switchboard.pin(SENSE) else 0
