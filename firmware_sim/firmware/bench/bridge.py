"""Capacitance: every net against a known capacitor, direct to each other net and to ground, femtofarads.

A net floats, all others are low, its multiplexer looks on. PED lifts it to where the amplifier works, STEP lifts it by
a known capacitor's worth, then each other net in turn goes high and stays. What each lifts, over what STEP lifted, is
its capacitance to the net over 220 pF; no resistor, no clock and no supply is in that. How the net drifts by itself in
the time of a step is seen once and taken off.
"""

import time

import analog
import pins
import safety
import scan
import selftest

PIN_FF = 70_000  # of a contact, until somebody measures it
REST_US = 90  # a step waits so long, and what the scan's nets took to settle
LONGEST_US = 2000
LOOKS = 8
LARGEST_FF = 100_000_000
FIXED = 1 << 52  # of what is turned round, so that whole numbers do


class Bridge:
    """What a net holds: against each other net, and in all, femtofarads; and the scatter of one reading."""

    def __init__(self, nets: "list[list[int]]") -> None:
        self.nets = nets
        size = len(nets)
        self.direct = [[0] * size for _ in range(size)]
        self.own = [0] * size  # against everything else, all of it low
        self.spoilt = [False] * size  # by a leak
        self.squares = 0
        self.freedom = 0


def run(seen: scan.Scan, repeats: int) -> Bridge:
    """Measure every net; repeats: how often."""
    found = Bridge(seen.nets)
    found.spoilt = list(seen.leaking)
    size = len(seen.nets)
    settle_us = min(LONGEST_US, REST_US + seen.settle_us)
    masks = [sum([1 << contact for contact in net]) for net in seen.nets]
    sums = [[0] * size for _ in range(size)]
    for net in range(size):
        own = []
        for _ in range(repeats):
            values, total = _weigh(net, seen.nets[net][0], masks, settle_us)
            own.append(total)
            for other in range(size):
                sums[net][other] += values[other]
        found.own[net] = sum(own) // repeats
        found.squares += sum([(value - found.own[net]) * (value - found.own[net]) for value in own])
        found.freedom += repeats - 1
        safety.alive()
    for i in range(size):
        for j in range(i):
            # Both ways measure the same; a net that leaks is believed as little as can be.
            if found.spoilt[i] != found.spoilt[j]:
                direct = sums[j][i] if found.spoilt[i] else sums[i][j]
                direct *= 2
            else:
                direct = sums[i][j] + sums[j][i]
            found.direct[i][j] = found.direct[j][i] = direct // (2 * repeats)
    pins.hold(pins.ALL, 0)
    return found


def _weigh(net: int, contact: int, masks: "list[int]", settle_us: int) -> "tuple[list[int], int]":
    """Return what one net has against each other one, and in all, femtofarads."""
    pins.hold(pins.ALL, 0)
    side = pins.see(contact)
    shift = 2 * side
    pins.pull(0)
    time.sleep_us(settle_us + analog.SETTLE_US)
    low = pins.ALL & ~masks[net]
    pins.hold(low, 0)
    time.sleep_us(settle_us)

    begun = time.ticks_us()

    def looked() -> "tuple[int, int]":
        time.sleep_us(settle_us)
        at_us = time.ticks_diff(time.ticks_us(), begun)
        return analog.mean(side, LOOKS), at_us

    pins.step(pins.PEDESTAL << shift)
    before, before_us = looked()
    pins.step((pins.PEDESTAL | pins.STEP) << shift)
    lifted, lifted_us = looked()
    last, last_us = looked()
    drift, drift_us = last - lifted, last_us - lifted_us
    known = lifted - before - drift * (lifted_us - before_us) // drift_us
    values = [0] * len(masks)
    high = 0
    for other, mask in enumerate(masks):
        if other != net:
            high |= mask
            pins.hold(low & ~high, high)
            now, now_us = looked()
            by_it = now - last - drift * (now_us - last_us) // drift_us
            values[other] = selftest.STEP_FF * by_it // known if known > 0 else 0
            last, last_us = now, now_us
    # Others down first, then the steps, while the net still floats: nothing is kicked below ground.
    pins.hold(low, 0)
    pins.step(0)
    pins.hold(pins.ALL, 0)
    if known <= 0:
        return values, LARGEST_FF
    total = selftest.STEP_FF * analog.FULL_SCALE * 256 // known - selftest.known.common_ff[side]
    return values, total if total > 0 else 0


def singles(found: Bridge) -> "list[int]":
    """Return each net alone against all others low, what its contacts hold included."""
    return list(found.own)


def double(found: Bridge, i: int, j: int) -> int:
    """Return two nets together against all others low."""
    return found.own[i] + found.own[j] - 2 * found.direct[i][j]


def pairs(found: Bridge) -> "list[list[int]]":
    """Return each two nets, the first driven, the second low, all others floating: (1/K_ii - ...) of the inverse."""
    size = len(found.nets)
    rows = [
        [found.own[i] if i == j else -found.direct[i][j] for j in range(size)]
        + [FIXED if i == j else 0 for j in range(size)]
        for i in range(size)
    ]
    for at in range(size):
        pivot = rows[at][at] or 1
        for n in range(size):
            if n != at and rows[n][at]:
                factor, head = rows[n][at], rows[at]
                rows[n] = [value - factor * over // pivot for value, over in zip(rows[n], head)]
    # K_ij in FIXED / femtofarad.
    k = [[rows[i][size + j] // (rows[i][i] or 1) for j in range(size)] for i in range(size)]
    values = [[0] * size for _ in range(size)]
    for i in range(size):
        for j in range(size):
            if i != j and k[j][j]:
                left = k[i][i] - k[i][j] * k[j][i] // k[j][j]
                values[i][j] = FIXED // left if left > 0 else LARGEST_FF
    return values
