"""Capacitance: every net against a known capacitor, direct to each other net and to ground, femtofarads.

A net floats, all others are low, its multiplexer looks on. PED lifts it to where the amplifier works, STEP lifts it by
a known capacitor's worth, then each other net in turn goes high or, of the half that was high, low; then all of it
back in reverse. What each moves it by, over what STEP does, is its capacitance to the net over 220 pF; no resistor, no
clock and no supply is in that. What drifts adds on the way there what it takes off on the way back; of a leak that
hangs on the voltage a share of every move is left, the same of STEP's. The order is another one every time: where the
converter's code jumps, another one is wrong by it.
"""

import time

import analog
import micropython
import pins
import scan
import selftest
import watchdog

TYPE_CHECKING = False
if TYPE_CHECKING:
    from _mpy_shed.time_mp import _TicksUs

PIN_FF = 70_000  # of a contact, until somebody measures it
BRIDGE_REST_US = 60  # a step waits so long, and what the scan's nets took to settle
LONGEST_US = 2000
LOOKS = 8
SLOW_US = 150  # what takes so long holds much, a picofarad is a smaller part of a count: twice as many looks
FINE = 900 * 256  # what STEP lifts a net by, 256ths of a count, from which on the fewest weighings do
FEWEST = 2
LOWEST, HIGHEST = 60 * 256, 4_040 * 256  # 256ths of a count, where amplifier and converter work
LARGEST_FF = 100_000_000
FIXED = 1 << 52  # of what is turned round, so that whole numbers do


class Bridge:
    """What a net holds: against each other net, and in all, femtofarads; and the scatter of one reading."""

    def __init__(self, nets: "list[list[int]]") -> None:
        self.nets = nets
        size = len(nets)
        self.direct = [[0] * size for _ in range(size)]
        self.own = [0] * size  # against everything else, all of it low
        self.spoilt = [False] * size  # by a leak, or out of the amplifier's range
        self.squares = 0
        self.freedom = 0
        self.weighings = 0


class Weighing:
    """What one net was found to hold: against others, and in all, femtofarads; known: what STEP lifted it by."""

    def __init__(self) -> None:
        self.against: "dict[int, int]" = {}
        self.total = LARGEST_FF
        self.known = 0
        self.within = False  # the amplifier's and the converter's range, all the time
        self.sank = False  # below it


def run(seen: scan.Scan, most: int) -> Bridge:
    """Measure every net; most: how often one that holds much is weighed."""
    found = Bridge(seen.nets)
    found.spoilt = list(seen.leaking)
    size = len(seen.nets)
    settle_us = min(LONGEST_US, BRIDGE_REST_US + seen.settle_us)
    masks = [sum([1 << contact for contact in net]) for net in seen.nets]
    means = [[0] * size for _ in range(size)]
    known = [0] * size
    for net in range(size):
        weighed: "list[Weighing]" = []
        while len(weighed) < FEWEST or (len(weighed) < most and weighed[0].known < FINE):
            first = (net + 1 + len(weighed) * size // most) % size
            others = [other % size for other in range(first, first + size) if other % size != net]
            if len(weighed) & 1:
                others.reverse()
            weighed.append(_weigh_in_parts((seen.nets[net][0], net), masks, settle_us, others, []))
            found.spoilt[net] = found.spoilt[net] or not weighed[-1].within
        count = len(weighed)
        known[net] = max(1, sum([one.known for one in weighed]))
        for other in others:
            means[net][other] = sum([one.against.get(other, 0) for one in weighed]) // count
        found.own[net] = sum([one.total for one in weighed]) // count
        found.squares += sum([(one.total - found.own[net]) * (one.total - found.own[net]) for one in weighed])
        found.freedom += count - 1
        found.weighings += count
        watchdog.alive()
    for i in range(size):
        for j in range(i):
            # Both ways measure the same: the finer one counts for more, one that leaks for nothing.
            one, other = known[i], known[j]
            if found.spoilt[i] != found.spoilt[j]:
                one, other = (0, 1) if found.spoilt[i] else (1, 0)
            direct = (means[i][j] * one + means[j][i] * other) // (one + other)
            found.direct[i][j] = found.direct[j][i] = direct
    pins.hold(pins.ALL, 0)
    return found


def _weigh_in_parts(
    at: "tuple[int, int]", masks: "list[int]", settle_us: int, others: "list[int]", spare: "list[int]"
) -> Weighing:
    """Weigh a net against others, at once or, where it drifts too far meanwhile, one half after the other.

    at: its contact that is looked at, and its place among the masks. spare: nets that may be high all the time.
    """
    watchdog.alive()
    count = len(spare) + len(others)
    weighed = _weigh(at, masks, settle_us, others, spare, count // 2)
    if not weighed.within:
        weighed = _weigh(at, masks, settle_us, others, spare, count if weighed.sank else 0)
    if weighed.within or len(others) < 2:
        return weighed
    middle = len(others) // 2
    one, other = others[:middle], others[middle:]
    weighed = _weigh_in_parts(at, masks, settle_us, one, spare + other)
    rest = _weigh_in_parts(at, masks, settle_us, other, spare + one)
    weighed.against.update(rest.against)
    weighed.within = weighed.within and rest.within
    return weighed


def _weigh(
    at: "tuple[int, int]", masks: "list[int]", settle_us: int, others: "list[int]", spare: "list[int]", lifting: int
) -> Weighing:
    """Weigh a net against others once; lifting: so many of the spare and the others are high at first."""
    contact, net = at
    pins.hold(pins.ALL, 0)
    side = pins.see(contact)
    pedestal = pins.PEDESTAL << 2 * side
    stepped = pedestal | pins.STEP << 2 * side
    pins.pull(0)
    time.sleep_us(settle_us + analog.SETTLE_US)
    low = pins.ALL & ~masks[net]
    pins.hold(low, 0)
    time.sleep_us(settle_us)

    looks = LOOKS * (1 + settle_us // SLOW_US)
    # What is high at first goes low as the rest goes high; what is spare stays high.
    first = max(0, lifting - len(spare))
    turned = []
    for place in range(len(others)):
        if first + place < len(others):
            turned.append((others[first + place], 1))
        if place < first:
            turned.append((others[place], -1))
    highs = [sum([masks[other] for other in (spare + others)[:lifting]])]
    for other, _ in turned:
        highs.append(highs[-1] ^ masks[other])
    pins.step(pedestal)
    up = _levels(side, low, highs[:1], settle_us, looks)
    back = []
    if up[0][0] >= LOWEST:
        pins.step(stepped)
        up.extend(_levels(side, low, highs, settle_us, looks))
        highs.reverse()
        back.append(up[-1])
        back.extend(_levels(side, low, highs[1:], settle_us, looks))
        pins.step(pedestal)
        back.extend(_levels(side, low, highs[-1:], settle_us, looks))
        back.reverse()
    # Others down first, then PED, while the net still floats: nothing is kicked below ground.
    pins.hold(low, 0)
    pins.step(0)
    pins.hold(pins.ALL, 0)
    return _weighed(up, back, turned, side)


@micropython.native
def _levels(side: int, low: int, highs: "list[int]", settle_us: int, looks: int) -> "list[tuple[int, _TicksUs]]":
    """Return what a common shows, and when, as one mask of contacts after the other is high."""
    found = []
    for high in highs:
        pins.hold(low & ~high, high)
        time.sleep_us(settle_us)
        found.append((analog.mean(side, looks), time.ticks_us()))
    return found


@micropython.native
def _weighed(
    up: "list[tuple[int, _TicksUs]]", back: "list[tuple[int, _TicksUs]]", turned: "list[tuple[int, int]]", side: int
) -> Weighing:
    """Work out what was weighed; up, back: levels and their times before STEP, after it, and after each other net.

    back is empty where it stood too low from the start. turned: the other nets in their order on the way up, with 1 for
    one that rose, -1 for one that fell.
    """
    found = Weighing()
    levels = [level for level, _ in up + back]
    found.sank = min(levels) < LOWEST
    found.within = not found.sank and max(levels) <= HIGHEST
    if not back:
        return found
    lasted = time.ticks_diff(back[0][1], up[0][1])
    drift = (back[0][0] - up[0][0]) * 1000 // lasted  # 256ths of a count in a millisecond
    moves = []
    for place in range(len(up) - 1):
        moved = up[place + 1][0] - up[place][0] + back[place + 1][0] - back[place][0]
        late = time.ticks_diff(up[place + 1][1], up[place][1]) - time.ticks_diff(back[place][1], back[place + 1][1])
        moves.append((moved - drift * late // 1000) // 2)
    found.known = moves[0]
    for (other, way), moved in zip(turned, moves[1:]):
        found.against[other] = selftest.STEP_FF * way * moved // found.known if found.known > 0 else 0
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


@micropython.native
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
        # Left of these columns nothing is looked at any more, and right of them nothing changes yet.
        first, end = at + 1, size + at + 1
        head = rows[at][first:end]
        for n in range(size):
            factor = rows[n][at]
            if n != at and factor:
                rows[n][first:end] = [value - factor * over // pivot for value, over in zip(rows[n][first:end], head)]
    # K_ij in FIXED / femtofarad.
    k = [[rows[i][size + j] // (rows[i][i] or 1) for j in range(size)] for i in range(size)]
    values = [[0] * size for _ in range(size)]
    for i in range(size):
        for j in range(size):
            if i != j and k[j][j]:
                left = k[i][i] - k[i][j] * k[j][i] // k[j][j]
                values[i][j] = FIXED // left if left > 0 else LARGEST_FF
    return values
