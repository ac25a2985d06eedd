"""What is joined, by letting go: of two contacts one is held high and one low, each behind 68 kohm, and the low one is
then let go. Once all has settled nothing moves unless the two are joined, whatever capacitance lies between them.

A joined one comes up in less than half of its own time, one behind 200 kohm takes more than all of it; so each is read
at a share of its own time. What reads as joined is believed after a long hold only, since a long cable settles slowly;
and it is tried with both low: what then comes up leaks.
"""

import time

import look
import pins
import safety
import selftest
import watchdog

MILLIOHM = 10_000_000  # what conducts better is joined
FIRST_HOLD_US = 50  # or, if that is more, so many own times: then both are halfway where they are joined
HOLD = 4
READ_TENTHS = 7  # of its own time, when a contact is read
LATE = 6  # own times after which a leak shows, and at least
LATE_US = 50


def triangle() -> "list[bool]":
    """Return whether every two contacts are joined, a triangle row by row: (0,1), (0,2), ..."""
    found = []
    hold_us = FIRST_HOLD_US
    for a in range(pins.CONTACTS - 1):
        for b in range(a + 1, pins.CONTACTS):
            seen = _comes_up(a, b, hold_us)
            if seen and not _comes_up(a, b, safety.DISCHARGE_US):
                seen = False
                hold_us = min(2 * hold_us, safety.DISCHARGE_US)
            if seen:
                _check_leak(a, b)
            found.append(seen)
        pins.loose(1 << a)
        watchdog.alive()
    return found


def _comes_up(a: int, b: int, hold_us: int) -> bool:
    """Return whether contact b comes up to contact a within a share of its own time."""
    pins.high(a)
    pins.low(1 << b)
    own_us = selftest.weighed[b] + pins.CALL_US
    time.sleep_us(max(hold_us, HOLD * own_us))
    wait_us = max(0, own_us * READ_TENTHS // 10 - pins.CALL_US)
    pins.drop(b)
    time.sleep_us(wait_us)
    return pins.is_high(b)


def _check_leak(a: int, b: int) -> None:
    """Refuse when contact b comes up with both low: as a voltage, if one has come, else as a leak."""
    pins.low(1 << a)
    pins.low(1 << b)
    time.sleep_us(safety.DISCHARGE_US)
    pins.drop(b)
    time.sleep_us(max(LATE * selftest.weighed[b], LATE_US))
    if pins.is_high(b):
        look.refuse_if_any()
        selftest.refuse(selftest.LEAKS, [b])
