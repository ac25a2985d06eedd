"""Four-wire ohms of what is joined: both ends of a conductor seen at once while half a milliampere passes.

Once one way, once the other: what stands there anyhow goes out in the difference. Hum picked up by a coil of cable
goes out too where readings lie whole frames apart, each the other way round than the one before: so all conductors
are gone round frame by frame. Eight frames of 12.5 ms cancel 50, 60, 100 Hz and their like; where a round does not
fit, six of 33.3 ms, whose second half other work fills. The current is what stands at the contact held low over that
contact's own resistance, which the board measures itself with UP, once.
"""

import time

import analog
import converter
import micropython
import pins
import scan
import selftest
import watchdog

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Callable

    from _mpy_shed.time_mp import _TicksUs

STEP_MILLIOHM = 20
MEASURED_MILLIOHM = 1_000_000  # above, the scan's own value stands
# Eleven times the difference is taken below so many counts between the commons, at its finer range below the first.
FINE_COUNTS, TIMES_COUNTS = 30 * 256, 150 * 256
OWN_MILLIOHM = 3_390_000
UP_OHM = 100_000
SEEN_X1000 = 1221  # 1 + 22.1 kohm / 100 kohm: what stands at a contact, over what its common shows with UP on
SHORT_FRAMES, SHORT_US = 8, 12_500
LONG_FRAMES, LONG_US = 6, 33_333
PORTS_US = 100  # from one reading's end to the next one's contacts driven
TAKE_US = 180  # to take a reading
BEGIN_US = 130  # to begin a conversion, and what is left over
MOST = 18  # readings in a long frame
SETTLED_US = 150
BESIDE_US = 8_000  # longer than any piece of other work

_own_milliohm = [0] * pins.CONTACTS  # of a contact held low, 0 = not measured yet


def own_milliohm() -> "list[int]":
    """Return the resistance of every contact held low, milliohm, as far as it was measured; 0 = not yet."""
    return list(_own_milliohm)


class Reading:
    """One place of a frame: which two contacts drive, where both multiplexers look, and the sign of what they see."""

    def __init__(self, pair: int, a: int, b: int, channels: "tuple[int, int]", sign: int) -> None:
        self.pair = pair
        self.a = a
        self.b = b
        self.channels = channels
        self.sign = sign


def run(seen: scan.Scan, beside: "list[Callable[[], None]]") -> None:
    """Measure every two contacts that are joined through less than 1 kohm; the scan's triangle takes the values.

    beside: other work, in pieces that leave the board as they like; what of it fits is done between frames, the rest at
    the end.
    """
    _measure_all(seen, beside)
    while beside:
        beside.pop()()


def _measure_all(seen: scan.Scan, beside: "list[Callable[[], None]]") -> None:
    pairs = []
    for net in seen.nets:
        for n, a in enumerate(net):
            for b in net[n + 1 :]:
                value = seen.milliohm[scan.place(a, b)]
                if value is not None and value < MEASURED_MILLIOHM:
                    pairs.append((a, b))
    if not pairs:
        return
    masks = _masks(seen.nets)
    for a, b in pairs:
        for one, other in ((a, b), (b, a)):
            if not _own_milliohm[one] and (one < pins.SIDE) != (other < pins.SIDE):
                _own_milliohm[one] = _own(one, other, masks[one], seen.settle_us)
    start = 0
    while start < len(pairs):
        readings = 0
        end = start
        while end < len(pairs) and readings + _count(pairs[end]) <= MOST:
            readings += _count(pairs[end])
            end += 1
        _measure(pairs[start:end], masks, seen, beside)
        start = end


def _masks(found: "list[list[int]]") -> "list[int]":
    """Return for each contact the contacts of its net, a bit each."""
    masks = [0] * pins.CONTACTS
    for net in found:
        mask = 0
        for contact in net:
            mask |= 1 << contact
        for contact in net:
            masks[contact] = mask
    return masks


def _count(pair: "tuple[int, int]") -> int:
    """Return how many readings a pair needs in a frame: two contacts of one side are seen one after the other."""
    return 1 if pair[0] < pins.SIDE <= pair[1] else 2


def _own(low: int, other: int, net: int, settle_us: int) -> int:
    """Return the resistance of a contact held low, milliohm: UP feeds it through its conductor's other end."""
    side = 0 if low < pins.SIDE else 1
    channels = (low, other - pins.SIDE) if side == 0 else (other, low - pins.SIDE)
    pins.pull(0)
    pins.look_at(channels[0], channels[1])
    pins.hold(pins.ALL & ~net | 1 << low, 0)
    shown = []
    fed = 0
    for on in (True, False):
        pins.pull(pins.UP_A | pins.UP_B if on else pins.UPS[side])
        time.sleep_us(2 * settle_us + SETTLED_US)
        shown.append(converter.nanovolts(converter.ONCE[side], converter.TWO_VOLT))
        if on:
            fed = converter.nanovolts(converter.ONCE[1 - side], converter.TWO_VOLT)
    pins.pull(0)
    change = shown[0] - shown[1]
    # Nanovolts over ohms: nanoamperes.
    current = (selftest.known.rail_nv() - fed) // UP_OHM - change // UP_OHM
    if current <= 0:
        return OWN_MILLIOHM
    return change * SEEN_X1000 // current


def _readings(pairs: "list[tuple[int, int]]") -> "list[Reading]":
    found = []
    for number, (a, b) in enumerate(pairs):
        if _count((a, b)) == 1:
            found.append(Reading(number, a, b, (a, b - pins.SIDE), 1))
        else:
            for contact, sign in ((a, 1), (b, -1)):
                near = contact < pins.SIDE
                channels = (contact, pins.LINK) if near else (pins.LINK, contact - pins.SIDE)
                found.append(Reading(number, a, b, channels, sign if near else -sign))
    return found


@micropython.native
def _measure(
    pairs: "list[tuple[int, int]]", masks: "list[int]", seen: scan.Scan, beside: "list[Callable[[], None]]"
) -> None:
    readings = _readings(pairs)
    settle_us = max(SETTLED_US, 2 * seen.settle_us)
    own_us = PORTS_US + max(settle_us, TAKE_US) + BEGIN_US + converter.lasts_us()
    frames, frame_us = SHORT_FRAMES, SHORT_US
    if own_us * len(readings) > SHORT_US:
        frames, frame_us = LONG_FRAMES, LONG_US
    totals = [0] * len(pairs)
    pins.pull(0)
    currents, ranges = _currents(pairs, masks, settle_us)
    _drive(readings[0], 0, masks)
    begun = time.ticks_us()
    for frame in range(frames):
        for place, reading in enumerate(readings):
            _until(begun, frame * frame_us + place * own_us + PORTS_US + max(settle_us, TAKE_US))
            inputs, gain = ranges[reading.pair]
            converter.begin(inputs, gain)
            converter.wait()
            # The next contacts settle while this reading is taken.
            if place + 1 < len(readings):
                _drive(readings[place + 1], frame & 1, masks)
            else:
                _drive(readings[0], frame + 1 & 1, masks)
            value = converter.take() * reading.sign
            totals[reading.pair] += value if frame & 1 == 0 else -value
        if beside and frame + 1 < frames:
            while beside and (frame + 1) * frame_us - time.ticks_diff(time.ticks_us(), begun) > BESIDE_US:
                beside.pop()()
            pins.pull(0)
            _drive(readings[0], frame + 1 & 1, masks)
        watchdog.alive()
    for number, (a, b) in enumerate(pairs):
        across = 2 * totals[number] // frames
        if ranges[number][0] == converter.DIFFERENCE:
            across = selftest.known.across_nv(across)
        if currents[number] > 0:
            seen.milliohm[scan.place(a, b)] = max(0, across * 1000 // currents[number])


@micropython.native
def _drive(reading: Reading, back: int, masks: "list[int]") -> None:
    """Let half a milliampere pass from a to b, or back; the rest of the net floats, all others are low."""
    high, low = (reading.b, reading.a) if back else (reading.a, reading.b)
    pins.look_at(reading.channels[0], reading.channels[1])
    pins.hold(pins.ALL & ~masks[low] | 1 << low, 1 << high)


@micropython.native
def _currents(
    pairs: "list[tuple[int, int]]", masks: "list[int]", settle_us: int
) -> "tuple[list[int], list[tuple[int, int]]]":
    """Return the sum of the currents one way and the other, nanoamperes, and inputs and gain that hold each pair.

    The current is what stands at the contact held low. Contacts of one side are seen against the middle of the supply,
    from which they differ by more than from each other.
    """
    currents, ranges = [], []
    for a, b in pairs:
        total = apart = 0
        for back in range(2):
            low, high = (a, b) if back else (b, a)
            side, other = (0 if one < pins.SIDE else 1 for one in (low, high))
            channels = [pins.LINK, pins.LINK]
            channels[other] = high - pins.SIDE * other
            channels[side] = low - pins.SIDE * side
            _drive(Reading(0, a, b, (channels[0], channels[1]), 1), back, masks)
            time.sleep_us(settle_us + analog.SETTLE_US)
            shown = converter.nanovolts(converter.ONCE[side], converter.TWO_VOLT)
            total += shown * 1000 // (_own_milliohm[low] or OWN_MILLIOHM)
            between = analog.mean(0, 8) - analog.mean(1, 8)
            apart = max(apart, between if between >= 0 else -between)
        currents.append(total)
        if side == other and apart < TIMES_COUNTS or FINE_COUNTS <= apart < TIMES_COUNTS:
            ranges.append((converter.DIFFERENCE, converter.TWO_VOLT))
        elif apart < FINE_COUNTS:
            ranges.append((converter.DIFFERENCE, converter.HALF_VOLT))
        else:
            ranges.append((converter.ONCE_DIFFERENCE, converter.TWO_VOLT))
    return currents, ranges


def _until(begun: "_TicksUs", us: int) -> None:
    left = us - time.ticks_diff(time.ticks_us(), begun)
    if left > 0:
        time.sleep_us(left)
