"""Capacitance: every net against a known capacitor, direct to each other net and to ground, femtofarads.

A net floats, all others are low, its multiplexer looks on. PED lifts it to where the amplifier works, STEP lifts it by
a known capacitor's worth, then each other net in turn goes high and stays. What each lifts, over what STEP lifted, is
its capacitance to the net over 220 pF; no resistor, no clock and no supply is in that. How the net drifts by itself is
seen before the others rise and after, since a leak may hang on the voltage, and what lies between is taken off. The
others rise in another order every time: where the converter's code jumps, another one is wrong by it.
"""

import time

import analog
import pins
import scan
import selftest
import watchdog

PIN_FF = 70_000  # of a contact, until somebody measures it
REST_US = 40  # a step waits so long, and what the scan's nets took to settle
LONGEST_US = 2000
LOOKS = 16
LOWEST, HIGHEST = 60 * 256, 3_980 * 256  # 256ths of a count, where amplifier and converter work
LEAST_RISE = 100 * 256  # 256ths of a count, from which on a drift that changes on the way can be told
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


class Weighing:
    """What one net was found to hold: against others, and in all, femtofarads; known: what STEP lifted it by."""

    def __init__(self) -> None:
        self.against: "dict[int, int]" = {}
        self.total = LARGEST_FF
        self.known = 0
        self.within = False  # the amplifier's and the converter's range, all the time


def run(seen: scan.Scan, repeats: int) -> Bridge:
    """Measure every net; repeats: how often."""
    found = Bridge(seen.nets)
    found.spoilt = list(seen.leaking)
    size = len(seen.nets)
    settle_us = min(LONGEST_US, REST_US + seen.settle_us)
    masks = [sum([1 << contact for contact in net]) for net in seen.nets]
    sums = [[0] * size for _ in range(size)]
    known = [0] * size
    for net in range(size):
        own = []
        for repeat in range(repeats):
            first = (net + 1 + repeat * size // repeats) % size
            others = [other % size for other in range(first, first + size) if other % size != net]
            if repeat & 1:
                others.reverse()
            weighed = _weigh_in_parts(net, seen.nets[net][0], masks, settle_us, others)
            own.append(weighed.total)
            known[net] += max(1, weighed.known)
            for other in others:
                sums[net][other] += weighed.against[other]
        found.own[net] = sum(own) // repeats
        found.squares += sum([(value - found.own[net]) * (value - found.own[net]) for value in own])
        found.freedom += repeats - 1
        watchdog.alive()
    for i in range(size):
        for j in range(i):
            # Both ways measure the same: the finer one counts for more, one that leaks for nothing.
            one, other = known[i], known[j]
            if found.spoilt[i] != found.spoilt[j]:
                one, other = (0, 1) if found.spoilt[i] else (1, 0)
            direct = (sums[i][j] * one + sums[j][i] * other) // ((one + other) * repeats)
            found.direct[i][j] = found.direct[j][i] = direct
    pins.hold(pins.ALL, 0)
    return found


def _weigh_in_parts(net: int, contact: int, masks: "list[int]", settle_us: int, others: "list[int]") -> Weighing:
    """Weigh a net against others, at once or, where it drifts too far meanwhile, one half after the other."""
    weighed = _weigh(net, contact, masks, settle_us, others)
    if weighed.within or len(others) < 2:
        return weighed
    middle = len(others) // 2
    weighed = _weigh_in_parts(net, contact, masks, settle_us, others[:middle])
    rest = _weigh_in_parts(net, contact, masks, settle_us, others[middle:])
    weighed.against.update(rest.against)
    return weighed


def _weigh(net: int, contact: int, masks: "list[int]", settle_us: int, others: "list[int]") -> Weighing:
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
    before = looked()
    # A net that holds much is not lifted to where the amplifier works: some of the others go high first, and low last.
    high = first = 0
    while before[0] < LOWEST and first < len(others):
        high |= masks[others[first]]
        first += 1
        pins.hold(low & ~high, high)
        before = looked()
    pins.step((pins.PEDESTAL | pins.STEP) << shift)
    lifted = looked()
    shown = [looked()]
    turned = others[first:] + others[:first]
    for other in turned:
        high ^= masks[other]
        pins.hold(low & ~high, high)
        shown.append(looked())
    after = looked()
    # Others down first, then the steps, while the net still floats: nothing is kicked below ground.
    pins.hold(low, 0)
    pins.step(0)
    pins.hold(pins.ALL, 0)
    return _weighed(before, lifted, shown, after, turned, len(others) - first, side)


def _weighed(
    before: "tuple[int, int]",
    lifted: "tuple[int, int]",
    shown: "list[tuple[int, int]]",
    after: "tuple[int, int]",
    turned: "list[int]",
    rising: int,
    side: int,
) -> Weighing:
    """Work out what was weighed; shown: before the first other net turned, and after each; rising: how many rose."""
    found = Weighing()
    start, end = shown[0], shown[-1]
    drift = (start[0] - lifted[0]) * 1000 // (start[1] - lifted[1])  # 256ths of a count in a millisecond
    found.known = lifted[0] - before[0] - drift * (lifted[1] - before[1]) // 1000
    change = (after[0] - end[0]) * 1000 // (after[1] - end[1]) - drift
    rise = end[0] - start[0]
    for place, other in enumerate(turned):
        was, now = shown[place], shown[place + 1]
        drifted = drift
        if rise > LEAST_RISE or -rise > LEAST_RISE:
            drifted += change * (now[0] - start[0]) // rise
        by_it = now[0] - was[0] - drifted * (now[1] - was[1]) // 1000
        if place >= rising:
            by_it = -by_it
        found.against[other] = selftest.STEP_FF * by_it // found.known if found.known > 0 else 0
    levels = [value for value, _ in shown] + [before[0], after[0]]
    found.within = min(levels) >= LOWEST and max(levels) <= HIGHEST
    if found.known > 0:
        total = selftest.STEP_FF * analog.FULL_SCALE * 256 // found.known - selftest.known.common_ff[side]
        found.total = max(0, min(LARGEST_FF, total))
    return found


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
