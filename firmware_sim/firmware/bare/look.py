"""Looking for voltages that are already there: each contact is let go in turn while all others are low; none is high.

A pin tells high from low, so what reads as high is seen, 2 V and more, and what stays under 0.8 V is not.
"""

import time

import answer
import pins
import safety
import watchdog

SEEN_MV = 2000
AT_ONCE_US = 10  # a voltage against the tester's own ground is there at once; a leaking pin is not, on an empty contact
LATER_US = 2000  # one of an isolated source comes as fast as 68 kohm charge the cable
WINDOWS = 10  # together a whole period of 50 Hz


def voltages() -> "list[tuple[int, int, str]]":
    """Return (contact, millivolts, kind) for every contact that reads as high without being driven."""
    safety.bring_down()
    found = []
    for contact in range(pins.CONTACTS):
        kind = _kind(contact)
        if kind:
            found.append((contact, SEEN_MV, kind))
        watchdog.alive()
    pins.loose(pins.ALL)
    return found


def _kind(contact: int) -> str:
    """Return "DC" or "AC", "" for nothing, or for a pin that leaks."""
    at_once = later = 0
    for _ in range(WINDOWS):
        pins.low(pins.ALL)
        time.sleep_us(AT_ONCE_US)
        pins.drop(contact)
        time.sleep_us(AT_ONCE_US)
        first = pins.is_high(contact)
        time.sleep_us(LATER_US)
        at_once += first
        later += first or pins.is_high(contact)
    if later and not at_once and _leaks(contact):
        return ""
    return "" if not later else "DC" if later == WINDOWS else "AC"


def _leaks(contact: int) -> bool:
    """Return whether a contact comes up with all others let go as well: then it is its own pin that lifts it."""
    pins.low(pins.ALL)
    time.sleep_us(safety.DISCHARGE_US)
    pins.loose(pins.ALL)
    time.sleep_us(LATER_US)
    return pins.is_high(contact)


def refuse_if_any() -> None:
    """Look, and where there is a voltage let go of everything and refuse."""
    found = voltages()
    if found:
        safety.let_go()
        raise answer.Refused("FOREIGN", fields(found))


def fields(found: "list[tuple[int, int, str]]") -> "list[str]":
    """Return voltages as fields."""
    shown = ["%d" % len(found)]
    for contact, millivolts, kind in found:
        shown.extend(("%d" % (contact + 1), "%d" % millivolts, kind))
    return shown
