"""What the bench board finds of itself with nothing in its sockets, for whoever has just built it.

A common that leads nowhere, or to a contact that is let go, is lifted by PED and STEP to where its amplifier works.
What STEP lifts it by says what it holds; how it drifts from there says what leaks, whichever way.
"""

import time

import analog
import converter
import guard
import ohms
import pins
import selftest
import watchdog

GROUND_CHANNEL = 11
MANY = 64  # readings of a mean
DRIFT_US = 1000
TIMED = 32  # calls that are timed together
MICROVOLTS_X32768 = 103_125  # of a 256th of a count, times 2^15: 3.3 V / 4096 / 256


def groups() -> "list[tuple[str, list[int]]]":
    """Return every group: its word and its figures. Refuses as every measurement does when a voltage is there.

    LEAK, COMMON: pA into each contact and common. OWN: milliohm of each contact held low, 0 = not measured since power
    came on. GROUND: uV that each common shows of ground. MIDDLE: millionths of the supply at the known divider's lower
    end, by each common. ZERO: uV of the difference times eleven. SCALE: millionths, the known resistor, eleven times,
    over what stands below it. TIMES: ns of a port write, of a reading; of a conversion.
    """
    guard.pass_quickly()
    commons = [_leaks(side, pins.PARK) for side in range(2)]
    leaks = []
    for contact in range(pins.CONTACTS):
        side = 0 if contact < pins.SIDE else 1
        leaks.append(_worse(_leaks(side, contact - pins.SIDE * side), commons[side]))
        watchdog.alive()
    pins.release()
    known = selftest.known
    found = [("LEAK", leaks), ("COMMON", [_worse(leak, [0, 0]) for leak in commons]), ("OWN", ohms.own_milliohm())]
    found.append(("GROUND", [_microvolts(value) for value in _at(GROUND_CHANNEL)]))
    found.append(("MIDDLE", [value * 15_625 >> 14 for value in _at(pins.LINK)]))
    found.append(("ZERO", [known.zero_nv // 1000]))
    found.append(("SCALE", [known.times_nv * 1_000_000 // known.below_nv]))
    found.append(("TIMES", _times()))
    pins.release()
    return found


def _at(channel: int) -> "list[int]":
    """Return what both commons show at a channel of their multiplexers, 256ths of a count."""
    pins.look_at(channel, channel)
    time.sleep_us(2 * analog.SETTLE_US)
    return [analog.mean(side, MANY) for side in range(2)]


def _leaks(side: int, channel: int) -> "list[int]":
    """Return what leaks into a common and the contact that it looks at, if any, picoampere: lifted by PED, by both."""
    shift = 2 * side
    contact = 1 << channel + pins.SIDE * side if channel < pins.SIDE else 0
    pins.hold(pins.ALL, 0)
    pins.step(0)
    pins.look_at(channel if side == 0 else pins.PARK, channel if side == 1 else pins.PARK)
    pins.pull(pins.DOWNS[side])
    time.sleep_us(4 * analog.SETTLE_US)
    pins.pull(0)
    pins.hold(pins.ALL & ~contact, 0)
    levels, passed_us = [], []
    for steps in (pins.PEDESTAL, pins.PEDESTAL | pins.STEP):
        pins.step(steps << shift)
        time.sleep_us(analog.SETTLE_US)
        begun = time.ticks_us()
        levels.append(analog.mean(side, MANY))
        time.sleep_us(DRIFT_US)
        passed_us.append(max(1, time.ticks_diff(time.ticks_us(), begun)))
        levels.append(analog.mean(side, MANY))
    pins.step(0)
    holds_ff = selftest.STEP_FF * analog.FULL_SCALE * 256 // max(1, levels[2] - levels[1])
    # Femtofarads times microvolts over microseconds are femtoamperes.
    return [holds_ff * _microvolts(levels[2 * n + 1] - levels[2 * n]) // passed_us[n] // 1000 for n in range(2)]


def _microvolts(x256: int) -> int:
    """Return 256ths of a count as microvolts."""
    return x256 * MICROVOLTS_X32768 >> 15


def _worse(found: "list[int]", less: "list[int]") -> int:
    """Return what is left of the greater of two leaks once what is not theirs is taken off."""
    one, other = found[0] - less[0], found[1] - less[1]
    return one if abs(one) > abs(other) else other


def _times() -> "list[int]":
    """Return how long a write to a port, a reading of a common and a conversion take, nanoseconds."""
    pins.look_at(pins.LINK, pins.LINK)
    begun = time.ticks_us()
    for turn in range(TIMED):
        pins.hold(pins.ALL if turn & 1 else pins.ALL & ~1, 0)
    port_ns = time.ticks_diff(time.ticks_us(), begun) * 1000 // TIMED
    begun = time.ticks_us()
    analog.mean(0, TIMED)
    reading_ns = time.ticks_diff(time.ticks_us(), begun) * 1000 // TIMED
    return [port_ns, reading_ns, converter.lasts_us() * 1000]
