"""Capacitance by the time that 100 kohm needs to charge it to half the supply.

Every contact is brought down first. What the board itself holds (the bus, measured at an input that leads
nowhere) is taken off; what stays is the contact's: its pin, the socket and the cable. Femtofarads.
"""

import time

import bus
import pins
import step
import watchdog
import whole

MOST_CHARGE_COUNTS = 125_000  # counts: 2 ms, about 28 nF
FEED_OHM = 100_157  # the resistor and the force path
LN2_X1000000 = 693147
PIN_FF = 10_000
EMPTYING_US = 40
SPARE_REPEATS = 16

_delays = [0]
_wait_us = [EMPTYING_US]  # what the charge of the reading before needs to go


class Measured:
    """Values in order (None = joined, -1 = over range), and the standard deviation of a single one."""

    def __init__(self) -> None:
        self.values: "list[int | None]" = []
        self._squares = 0
        self._freedom = 0

    def add(self, readings: "list[int]", zero_ff: int) -> None:
        """Add the mean of some readings, picoseconds."""
        if -1 in readings:
            self.values.append(-1)
            return
        count = len(readings)
        total = sum(readings)
        self.values.append(femtofarads((total + count // 2) // count) - zero_ff)
        for reading in readings:
            off = (reading * count - total) // count
            self._squares += off * off
        self._freedom += count - 1

    def deviation_ff(self) -> int:
        """Return the standard deviation of one reading, pooled."""
        return femtofarads(whole.root(self._squares // self._freedom)) if self._freedom else 0


def femtofarads(ps: int) -> int:
    """Return the capacitance that takes so long to charge to half through the feed."""
    return ps * 1_000_000_000 // (FEED_OHM * LN2_X1000000)


def _begin(repeats: int) -> None:
    pins.release()
    step.threshold(step.FULL_DUTY // 2)
    pins.range_to(pins.CHARGE)
    pins.FORCE.value(1)
    _delays[:] = step.phases(repeats)


def _times(high: int, low: int) -> "list[int]":
    """Return the charging times of what is selected, picoseconds; -1 = over range."""
    pins.select(high, low)
    watchdog.alive()
    found = []
    for delay_ps in _delays:
        bus.delay(delay_ps)
        pins.DISCHARGE.value(1)
        time.sleep_us(_wait_us[0])
        pins.DISCHARGE.value(0)
        ticks = step.count(MOST_CHARGE_COUNTS, True)
        found.append(ticks * step.TICK_PS - step.UP_LAUNCH_PS - delay_ps if ticks >= 0 else -1)
        # Half took ln 2 of 100 kohm; through the tie, ten time constants are a seventh of that time.
        _wait_us[0] = EMPTYING_US + (ticks * step.TICK_PS // 7_000_000 if ticks >= 0 else 300)
    return found


def _zero(repeats: int) -> int:
    """Return what the bus holds by itself."""
    _delays[:] = step.phases(SPARE_REPEATS)
    readings = _times(pins.OPEN, pins.OPEN)
    _delays[:] = step.phases(repeats)
    return femtofarads((sum(readings) + len(readings) // 2) // len(readings))


def pairs(joined: "list[list[bool]]", repeats: int) -> Measured:
    """Measure every two contacts, the first driven, the second low, all others floating."""
    found = Measured()
    _begin(repeats)
    zero = _zero(repeats)
    for a in range(pins.CONTACTS):
        for b in range(a + 1, pins.CONTACTS):
            if joined[a][b]:
                found.values.append(None)
            else:
                found.add(_times(pins.ADDRESS[a], pins.ADDRESS[b]), zero)
    return found


def singles(joined: "list[list[bool]]", repeats: int) -> Measured:
    """Measure every contact against all others low, but those it is joined to."""
    found = Measured()
    _begin(repeats)
    zero = _zero(repeats)
    for a in range(pins.CONTACTS):
        bus.switches(_all_but([a], joined))
        found.add(_times(pins.ADDRESS[a], pins.OPEN), zero)
    return found


def doubles(joined: "list[list[bool]]", repeats: int) -> Measured:
    """Measure every two contacts together against all others low, but those they are joined to."""
    found = Measured()
    _begin(repeats)
    bus.switches(bus.JOIN_BUSES)
    zero = _zero(repeats)
    for a in range(pins.CONTACTS):
        for b in range(a + 1, pins.CONTACTS):
            bus.switches(_all_but([a, b], joined) | bus.JOIN_BUSES)
            found.add(_times(pins.ADDRESS[a], pins.ADDRESS[b]), zero)
    return found


def _all_but(driven: "list[int]", joined: "list[list[bool]]") -> int:
    bits = 0
    for contact in range(pins.CONTACTS):
        if not any(contact == one or joined[one][contact] for one in driven):
            bits |= 1 << contact
    return bits
