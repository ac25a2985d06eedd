"""What is joined, leaks, or is open: one contact high, all others low, and what the others show.

Triangles hold every two contacts row by row: (0,1), (0,2), ... Values are milliohm; None = open.
"""

import time

import analog
import guard
import micropython
import nets
import pins
import watchdog

# Of a contact held low, with what looks at it and UP beside it; of one held high.
OWN_OHM, FEED_OHM = 3298, 3420
SEEN = 4096 * 256 * 819 // 1000  # what the whole supply shows at a common while UP is on, 256ths of a count
CANDIDATE = 60 * 256  # may be joined, were the others not low
JOINED_MILLIOHM = 10_000_000  # a net to capacitance, and to four-wire measurement
LEAKING_OHM = 1_500_000  # more cannot be told from none
SURELY_OPEN = SEEN * OWN_OHM // (LEAKING_OHM + OWN_OHM + FEED_OHM)
READINGS, LEAK_READINGS = 8, 16
REST_US = 150  # until a neighbour's step has settled, and what the nets themselves took


class Scan:
    """What a scan found: the triangle, the nets of contacts joined below 10 kohm, and how long nets take to settle."""

    def __init__(self) -> None:
        size = pins.CONTACTS
        self.milliohm: "list[int | None]" = [None] * (size * (size - 1) // 2)
        self.nets: "list[list[int]]" = []
        self.leaking: "list[bool]" = []  # nets that leak less than 1 Mohm or so to another
        self.settle_us = 0


def place(a: int, b: int) -> int:
    """Return where two contacts stand in a triangle, a < b."""
    return a * (2 * pins.CONTACTS - a - 1) // 2 + b - a - 1


def run() -> Scan:
    """Scan; refuses when a voltage turns up on the way."""
    found = Scan()
    candidates, moved_us = _candidates()
    rows = [0] * pins.CONTACTS
    for a, b in candidates:
        group = _reached(candidates, a)
        milliohm = _between(a, b, group)
        found.milliohm[place(a, b)] = milliohm
        if milliohm is not None and milliohm < JOINED_MILLIOHM:
            rows[a] |= 1 << b
            rows[b] |= 1 << a
    found.nets = nets.nets(rows)
    # A net settles alike whichever end drives it; the shorter time is the one that noise has not made longer.
    found.settle_us = max([min([moved_us[contact] for contact in net]) for net in found.nets])
    found.leaking = [False] * len(found.nets)
    _leaks(found)
    pins.release()
    return found


def _candidates() -> "tuple[list[tuple[int, int]], list[int]]":
    """Return the contacts of which one, high, shows at the other, held low; and how long each moved, microseconds."""
    moved_us = []
    zero = [0] * pins.CONTACTS
    seen: "list[tuple[int, int]]" = []
    _begin()
    for channel in range(pins.SIDE):
        pins.look_at(channel, channel)
        time.sleep_us(analog.SETTLE_US)
        for side in range(2):
            zero[channel + pins.SIDE * side] = analog.mean(side, 4)
    for a in range(pins.CONTACTS):
        _begin()
        side = 0 if a < pins.SIDE else 1
        pins.look_at(a % pins.SIDE, a % pins.SIDE)
        pins.hold(pins.ALL & ~(1 << a), 1 << a)
        moved_us.append(analog.still(side))
        _row(a, zero, seen)
        guard.look_again(a)
    return seen, moved_us


@micropython.native
def _row(a: int, zero: "list[int]", seen: "list[tuple[int, int]]") -> None:
    """Note all contacts behind one, high, at which it shows."""
    for channel in range(0 if a < pins.SIDE else a - pins.SIDE + 1, pins.SIDE):
        pins.look_at(channel, channel)
        time.sleep_us(analog.SETTLE_US)
        if channel > a and analog.mean(0, 4) - zero[channel] > CANDIDATE:
            seen.append((a, channel))
        b = channel + pins.SIDE
        if b > a and analog.mean(1, 4) - zero[b] > CANDIDATE:
            seen.append((a, b))


def _begin() -> None:
    pins.hold(pins.ALL, 0)
    pins.pull(pins.UP_A | pins.UP_B)


def _reached(candidates: "list[tuple[int, int]]", a: int) -> int:
    """Return the contacts that hang together with one, a bit each."""
    group = 1 << a
    grown = 0
    while grown != group:
        grown = group
        for one, other in candidates:
            if group >> one & 1 or group >> other & 1:
                group |= 1 << one | 1 << other
    return group


def _between(a: int, b: int, group: int) -> "int | None":
    """Return the milliohm between two contacts while the others of their group float."""
    low = pins.ALL & ~group | 1 << b
    return _milliohm(_lifted(low, 1 << a, b, READINGS), FEED_OHM)


@micropython.native
def _lifted(low: int, high: int, seen: int, readings: int) -> int:
    """Return by how much contacts that are high instead of low lift the one that is seen."""
    side = pins.see(seen)
    pins.pull(pins.UPS[side])
    pins.hold(low | high, 0)
    analog.still(side)
    value = -analog.mean(side, readings)
    pins.hold(low, high)
    analog.still(side)
    return value + analog.mean(side, readings)


def _milliohm(lifted: int, feed_ohm: int) -> "int | None":
    if lifted <= SURELY_OPEN:
        return None
    ohm_x1000 = SEEN * OWN_OHM * 1000 // lifted - (OWN_OHM + feed_ohm) * 1000
    return ohm_x1000 if ohm_x1000 > 0 else 0


@micropython.native
def _leaks(found: Scan) -> None:
    """Measure what leaks between nets: one high as a whole, the other held low by one contact alone."""
    masks = [sum([1 << contact for contact in net]) for net in found.nets]
    for q, net in enumerate(found.nets):
        if q == 0:
            continue
        seen = net[0]
        side = pins.see(seen)
        pins.pull(pins.UPS[side])
        others = pins.ALL & ~masks[q] | 1 << seen
        pins.hold(others, 0)
        analog.still(side)
        zero = analog.mean(side, LEAK_READINGS)
        for p in range(q):
            pins.hold(others & ~masks[p], masks[p])
            time.sleep_us(found.settle_us + REST_US)
            lifted = analog.mean(side, LEAK_READINGS) - zero
            if lifted > SURELY_OPEN // 2:  # near enough to look again, at leisure
                lifted = _lifted(others & ~masks[p], masks[p], seen, 2 * LEAK_READINGS)
            milliohm = _milliohm(lifted, FEED_OHM // len(found.nets[p]))
            if milliohm is not None:
                found.leaking[p] = found.leaking[q] = True
                _note(found, found.nets[p], net, milliohm)
        pins.pull(0)
        watchdog.alive()


def _note(found: Scan, one: "list[int]", other: "list[int]", milliohm: int) -> None:
    for a in one:
        for b in other:
            at = place(min(a, b), max(a, b))
            if found.milliohm[at] is None:
                found.milliohm[at] = milliohm
