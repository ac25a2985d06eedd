"""How the board of four buses watches: each contact is fed through 10 kohm in turn, all are tied low through 1 kohm.

What a contact then shows is how many contacts its net has, so one reading a contact tells opens and joins alike.
"""

import time

import analog
import answer
import guard
import look
import pins
import scan
import windings
from machine import mem32

PERIOD_US = 1000
WAIT_US = 10
FAR_OFF = 7  # counts; about five times the noise of one reading
TIE_OHM = 1000


class Eyes:
    """What the watch sees with."""

    def __init__(self) -> None:
        self.period_us = PERIOD_US
        self._usual = [0] * pins.CONTACTS  # what each contact read at the start
        self._xors = pins.steps_through(pins.ADDRESS)
        self._reader = analog.high_bus_reader()
        self._pair = (0, 1)
        self._zero = 0

    def begin(self) -> "list[int]":
        """Pass every look; return which contacts are joined, a bit each, a row for each contact."""
        guard.pass_all()
        seen = scan.probe()
        if windings.windings(seen):
            raise answer.Refused("EQUIPMENT", [])
        rows = [0] * pins.CONTACTS
        at = 0
        for a in range(pins.CONTACTS):
            for b in range(a + 1, pins.CONTACTS):
                value = seen[at]
                if value is not None and value < scan.JOINED_MILLIOHM:
                    rows[a] |= 1 << b
                    rows[b] |= 1 << a
                at += 1
        return rows

    def settle(self, _nets: "list[list[int]]") -> None:
        """Note what each contact reads, from which a change will be told."""
        self._zero = look.begin()
        self._pair = (0, 1)
        self.feed()
        for contact in range(pins.CONTACTS):
            pins.select(pins.ADDRESS[contact], pins.OPEN)
            time.sleep_us(WAIT_US)
            self._usual[contact] = analog.high_bus_x16() // 16
        pins.select(pins.OPEN, pins.OPEN)

    def feed(self) -> None:
        """Bring the board to where contacts can be read in turn."""
        pins.range_to(pins.PROBE)
        pins.select(pins.OPEN, pins.OPEN)
        pins.DISCHARGE.value(1)
        pins.FORCE.value(1)
        pins.SOURCE.value(1)

    def far_off(self) -> "list[int]":
        """Return the contacts whose readings are not as usual. Most of the millisecond goes here: no call too many."""
        changed = []
        xors, usual = self._xors, self._usual
        settle, read, registers, low, high = time.sleep_us, self._reader, mem32, -FAR_OFF, FAR_OFF
        for contact in range(pins.CONTACTS):
            registers[pins.GPIO_OUT_XOR] = xors[contact]
            settle(WAIT_US)
            if not low <= (read() >> 4) - usual[contact] <= high:
                changed.append(contact)
        registers[pins.GPIO_OUT_XOR] = xors[pins.CONTACTS]
        return changed

    def part(self) -> None:
        """Bring the board to where contacts can be measured two by two."""
        pins.DISCHARGE.value(0)

    def are_joined(self, a: int, b: int) -> bool:
        """Return whether less than a kilohm joins two contacts."""
        pins.select(pins.ADDRESS[a], pins.ADDRESS[b])
        time.sleep_us(WAIT_US)
        joined = scan.PATH_OHM + TIE_OHM
        return analog.high_bus() < joined * analog.FULL_SCALE // (joined + scan.PROBE_OHM)

    def look(self) -> "list[tuple[int, int, str]]":
        """Look at the next two contacts for a foreign voltage; return all voltages if there seems to be one."""
        a, b = self._pair
        pins.release()
        pins.SENSE.value(1)
        time.sleep_us(pins.SETTLE_US)
        value = look.quick(a, b, self._zero)
        b += 1
        if b == pins.CONTACTS:
            a += 1
            b = a + 1
        self._pair = (a, b) if b < pins.CONTACTS else (0, 1)
        return guard.voltages(guard.LIMIT_MV) if abs(value) > guard.LIMIT_MV else []
