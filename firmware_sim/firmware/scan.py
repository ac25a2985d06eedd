"""Resistance between every two contacts: gently first, then at full current where two are joined.

Triangles hold every two contacts row by row: (0,1), (0,2), ... Values are milliohm; None = open.
"""

import time

import analog
import bus
import guard
import pins
import watchdog

STEP_MILLIOHM = 20
PATH_OHM = 414  # series parts and multiplexers of both sides, and the shunt
JOINED_MILLIOHM = 1_000_000  # below this the full current is worth its while
HIGHEST_MILLIOHM = 10_000_000_000
SURELY_SEEN = 3277  # counts: through 10 kohm, what lies between is under 40 kohm
SURELY_OPEN = 4070  # counts: through 100 kohm, it is over 15 Mohm
PROBE_OHM = 10_000
CHARGE_OHM = 100_000
FINEST = 5  # the gain of 256 mV full scale
LOW_READINGS = 4
LOW_CURRENT_UV = 400  # across the shunt, 4 uA: less at 20 mV is no joined pair

_path = [PATH_OHM * 1000]


def probe() -> "list[int | None]":
    """Scan at about 0.3 mA; refuses when a voltage turns up on the way."""
    found: "list[int | None]" = []
    _drive(pins.PROBE)
    pins.select(pins.LINK, pins.LINK)
    time.sleep_us(pins.SETTLE_US)
    # The link has no resistance: what it shows is the path's, and the converter's offset.
    sum_of_16 = analog.high_bus_x16()
    _path[0] = PROBE_OHM * 1000 * sum_of_16 // (16 * analog.FULL_SCALE - sum_of_16)
    for a in range(pins.CONTACTS - 1):
        _drive(pins.PROBE)
        for b in range(a + 1, pins.CONTACTS):
            found.append(_through_resistor(a, b))
        guard.look_again(a)
    pins.release()
    return found


def _drive(code: int) -> None:
    pins.release()
    pins.range_to(code)
    pins.FORCE.value(1)
    pins.SOURCE.value(1)


def _through_resistor(a: int, b: int) -> "int | None":
    """Return the milliohm between two contacts from the voltage that 10 kohm, or else 100 kohm, leaves."""
    pins.select(pins.ADDRESS[a], pins.ADDRESS[b])
    time.sleep_us(pins.SETTLE_US)
    if analog.high_bus() < SURELY_SEEN:
        return _milliohm(analog.high_bus_x16(), PROBE_OHM)
    pins.range_to(pins.CHARGE)
    pins.SOURCE.value(1)
    time.sleep_us(2 * pins.SETTLE_US)
    value = None
    if analog.high_bus() < SURELY_OPEN:
        value = _milliohm(analog.high_bus_x16(), CHARGE_OHM)
    pins.range_to(pins.PROBE)
    pins.SOURCE.value(1)
    return value


def _milliohm(sum_of_16: int, ohm: int) -> "int | None":
    left = 16 * analog.FULL_SCALE - sum_of_16
    if left <= 0:
        return None
    value = ohm * 1000 * sum_of_16 // left - _path[0]
    if value > HIGHEST_MILLIOHM:
        return None
    return value if value > 0 else 0


def kelvin(high: int, low: int) -> int:
    """Return the milliohm between two multiplexer addresses, four-wire; the source must be on in its range.

    What is there without the source (a cell, a thermocouple) is measured too and taken off.
    """
    pins.select(high, low)
    time.sleep_us(pins.SETTLE_US)
    across = bus.microvolts_ranged(bus.CONTACT_PAIR)
    through = bus.microvolts_ranged(bus.SHUNT)
    pins.SOURCE.value(0)
    time.sleep_us(pins.SETTLE_US)
    idle = bus.microvolts(bus.CONTACT_PAIR, FINEST)
    pins.SOURCE.value(1)
    return _ratio(across - idle, through)


def _ratio(across: int, through: int) -> int:
    if through <= 0:
        return HIGHEST_MILLIOHM
    value = across * bus.SHUNT_OHM * 1000 // through
    return value if value > 0 else 0


def full(seen: "list[int | None]") -> "list[int | None]":
    """Measure again, at full current, the contacts that the probe saw joined; the rest stays as it was seen."""
    found = list(seen)
    at = 0
    for a in range(pins.CONTACTS - 1):
        driven = False
        for b in range(a + 1, pins.CONTACTS):
            value = found[at]
            if value is not None and value < JOINED_MILLIOHM:
                if not driven:
                    _drive(pins.FULL)
                    pins.SENSE.value(1)
                    driven = True
                found[at] = kelvin(pins.ADDRESS[a], pins.ADDRESS[b])
                watchdog.alive()
            at += 1
        if driven:
            guard.look_again(a)
    pins.release()
    return found


def low_level() -> "list[int | None]":
    """Scan at no more than 20 mV, so that a film on a contact stays whole; None = not joined."""
    found: "list[int | None]" = []
    for a in range(pins.CONTACTS - 1):
        pins.release()
        bus.switches(bus.LOW_LEVEL)
        _drive(pins.PROBE)
        pins.SENSE.value(1)
        for b in range(a + 1, pins.CONTACTS):
            pins.select(pins.ADDRESS[a], pins.ADDRESS[b])
            if bus.microvolts(bus.SHUNT, FINEST) < LOW_CURRENT_UV:
                found.append(None)
            else:
                found.append(_gently())
        pins.release()
        bus.switches(0)
        guard.look_again(a)
        watchdog.alive()
    return found


def _gently() -> int:
    across = through = 0
    for _ in range(LOW_READINGS):
        across += bus.microvolts(bus.CONTACT_PAIR, FINEST)
        through += bus.microvolts(bus.SHUNT, FINEST)
    pins.SOURCE.value(0)
    for _ in range(LOW_READINGS):
        across -= bus.microvolts(bus.CONTACT_PAIR, FINEST)
    pins.SOURCE.value(1)
    return _ratio(across, through)
