"""Capacitance: every net against a known capacitor, direct to each other net and to ground, femtofarads.

A net floats, all others are low, its multiplexer looks on. PED lifts it to where the amplifier works, STEP lifts it by
a known capacitor's worth, then each other net in turn goes high or, of the half that was high, low; then all of it
back in reverse. What each moves it by, over what STEP does, is its capacitance to the net over 220 pF; no resistor, no
clock and no supply is in that. What drifts adds on the way there what it takes off on the way back, and is told by it;
of a leak to another net a share of every move is left, the same of STEP's. Where the converter's code jumps a move may
be wrong by a few counts: it counts less than one of another order, or of the other net's.
"""

import time

import analog
import drift
import matrix
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
LOWEST, HIGHEST = 60 * 256, 4_040 * 256  # 256ths of a count, where amplifier and converter work
FINE = 900 * 256  # what STEP lifts a net by, 256ths of a count, below which a picofarad is less than a jump of the code


class Weighing:
    """What one net was found to hold: against others, and in all, femtofarads; known: what STEP lifted it by."""

    def __init__(self) -> None:
        self.against: "dict[int, tuple[int, int]]" = {}  # and how much that counts
        self.total = matrix.LARGEST_FF
        self.known = 0
        self.within = False  # the amplifier's and the converter's range, all the time
        self.sank = False  # below it


def run(seen: scan.Scan, often: int) -> matrix.Matrix:
    """Measure every net; often: how many times each is weighed, in another order of the others each time."""
    found = matrix.Matrix(seen.nets)
    found.spoilt = list(seen.leaking)
    size = len(seen.nets)
    settle_us = min(LONGEST_US, BRIDGE_REST_US + seen.settle_us)
    masks = [sum([1 << contact for contact in net]) for net in seen.nets]
    means = [[0] * size for _ in range(size)]
    weights = [[0] * size for _ in range(size)]
    for net in range(size):
        weighed: "list[Weighing]" = []
        for turn in range(often):
            first = (net + 1 + turn * size // often) % size
            others = [other % size for other in range(first, first + size) if other % size != net]
            if turn & 1:
                others.reverse()
            weighed.append(_weigh_in_parts((seen.nets[net][0], net), masks, settle_us, others, []))
            found.spoilt[net] = found.spoilt[net] or not weighed[-1].within
        _mean_of(weighed, means[net], weights[net])
        found.own[net] = sum([one.total for one in weighed]) // often
        found.squares += sum([(one.total - found.own[net]) * (one.total - found.own[net]) for one in weighed])
        found.freedom += often - 1
        found.weighings += often
        watchdog.alive()
    for i in range(size):
        for j in range(i):
            # Both ways measure the same: the finer one counts for more, one that leaks for nothing.
            one, other = weights[i][j], weights[j][i]
            if found.spoilt[i] != found.spoilt[j]:
                one, other = (0, 1) if found.spoilt[i] else (1, 0)
            found.direct[i][j] = (means[i][j] * one + means[j][i] * other) // ((one + other) or 1)
            found.direct[j][i] = found.direct[i][j]
    pins.hold(pins.ALL, 0)
    return found


@micropython.native
def _mean_of(weighed: "list[Weighing]", means: "list[int]", weights: "list[int]") -> None:
    """Put for each other net what the weighings of one say of it, and how much that counts."""
    known = 0
    for one in weighed:
        known += one.known
        for other, (direct, smooth) in one.against.items():
            means[other] += direct * smooth
            weights[other] += smooth
    for other, weight in enumerate(weights):
        if weight:
            means[other] //= weight
            weights[other] = weight * max(1, known)


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


@micropython.native
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
    moves = drift.moves(up, back)
    if moves[0][0] < FINE:
        moves = drift.fine_moves(up, back)
    found.known = moves[0][0]
    for (other, way), (moved, smooth) in zip(turned, moves[1:]):
        direct = selftest.STEP_FF * way * moved // found.known if found.known > 0 else 0
        found.against[other] = (direct, drift.SMOOTH if smooth else 1)
    if found.known > 0:
        total = selftest.STEP_FF * analog.FULL_SCALE * 256 // found.known - selftest.known.common_ff[side]
        found.total = max(0, min(matrix.LARGEST_FF, total))
    return found
