"""Looking at voltages that are already there. Nothing is driven: all contacts are low but the one that is looked at.

With DN a floating contact shows what lies above the others, with UP what lies below them. An open contact shows nothing
either way: zero with DN, and with UP more than a joined one, where only less is a voltage. The multiplexer turns
while the contact is still low, so that the common brings nothing along.
"""

import time

import analog
import micropython
import pins
import watchdog
import whole

TYPE_CHECKING = False
if TYPE_CHECKING:
    from _mpy_shed.time_mp import _TicksUs

# Seven rounds each way meet five or six periods of the mains at seven phases of theirs. A round has 7.1 ms, so that the
# clock and not the program says how long a window lasts.
ROUNDS = 14
WINDOW_US = 100_000
SEE_US = 60
SEE_NET_US = 600  # 90 m of conductor, filled by a wet plug
LOOKS_EACH = 4
HIGHEST_MV = 4000  # beyond, all voltages look alike
# Millivolts at a contact for a count: 3300 mV / 4096, by 122.1 kohm / 100 kohm. Times 2^16 / 64, for 64ths.
SCALE = 3300 * 1221 // 4000
GROUNDED = 4096 * 256 * 221 // 1221  # with UP, of a contact at the others' voltage; a source would hold a low one, too
OFFSET_COUNTS = 25 * 256  # an amplifier's floor and offset


class Seen:
    """What a window saw of each contact, millivolts: mean above and below the others, and r.m.s. of both together."""

    def __init__(self) -> None:
        self.above = [0] * pins.CONTACTS
        self.below = [0] * pins.CONTACTS
        self.swing = [0] * pins.CONTACTS


@micropython.native
def _millivolts(x256: int) -> int:
    value = (x256 >> 2) * SCALE >> 16 if x256 >= 0 else -((-x256 >> 2) * SCALE >> 16)
    return value if value < HIGHEST_MV else HIGHEST_MV


@micropython.native
def one(contact: int, up: bool = False, net: int = 0) -> int:
    """Return the voltage of a contact against all others at this moment, millivolts; with UP only what lies below.

    All others are low already. net: what floats with it, a bit each, so that a weak source is not held down at its
    conductor's other end.
    """
    side = pins.see(contact)
    pins.pull((pins.UPS if up else pins.DOWNS)[side])
    time.sleep_us(SEE_US if up else 0)
    if net:
        pins.hold(pins.ALL & ~(1 << contact | net), 0)
        time.sleep_us(SEE_NET_US)
    else:
        pins.let_go_of(contact)
        time.sleep_us(SEE_US)
    seen = analog.mean(side, LOOKS_EACH)
    pins.hold(pins.ALL, 0)
    if up:
        return _millivolts(seen - GROUNDED) if seen < GROUNDED else 0
    return _millivolts(seen) if seen > OFFSET_COUNTS else 0


@micropython.native
def _round(up: bool, sums: "list[int]", squares: "list[int]") -> None:
    """Do what one() does for every contact, with the least work, and add up what it sees, and its squares."""
    side = -1
    for contact in range(pins.CONTACTS):
        before = side
        side = pins.see(contact)
        if side != before:
            pins.pull((pins.UPS if up else pins.DOWNS)[side])
        if up:
            time.sleep_us(SEE_US)
        pins.let_go_of(contact)
        time.sleep_us(SEE_US)
        seen = analog.mean(side, LOOKS_EACH)
        pins.take_back(side)
        if up:
            seen -= GROUNDED
            if seen >= 0:
                continue
        elif seen <= OFFSET_COUNTS:
            continue
        value = _millivolts(seen)
        sums[contact] += value
        squares[contact] += value * value


def begin() -> None:
    """Hold all contacts low, so that only one at a time floats."""
    pins.release()
    pins.hold(pins.ALL, 0)
    time.sleep_us(SEE_US)


@micropython.native
def quick(limit_mv: int, ups: bool) -> "list[int]":
    """Look once at every contact, with DN and if wanted with UP; return those that seem to have more than the limit."""
    begin()
    found = []
    for contact in range(pins.CONTACTS):
        if one(contact) > limit_mv or (ups and one(contact, True) < -limit_mv):
            found.append(contact)
    watchdog.alive()
    return found


def window(ups: bool) -> Seen:
    """Look at every contact for exactly 100 ms; ups: every second round with UP, else DN alone."""
    begin()
    above = [0] * pins.CONTACTS
    below = [0] * pins.CONTACTS
    squares = [0] * pins.CONTACTS
    begun = time.ticks_us()
    for turn in range(ROUNDS):
        up = ups and turn & 1 == 1
        _round(up, below if up else above, squares)
        _until(begun, (turn + 1) * WINDOW_US // ROUNDS)
    watchdog.alive()
    seen = Seen()
    downs = ROUNDS // 2 if ups else ROUNDS
    for contact in range(pins.CONTACTS):
        seen.above[contact] = above[contact] // downs
        seen.below[contact] = -(-below[contact] // (ROUNDS - downs)) if ups else 0
        # Each half of a swing is seen by one of the two; with one alone the other is taken to be as much.
        seen.swing[contact] = whole.root(2 * squares[contact] // ROUNDS)
    pins.release()
    return seen


def loaded(contact: int) -> int:
    """Return the voltage of a contact held low like all others, through 3.4 kohm: what a strong source leaves there."""
    begin()
    side = pins.see(contact)
    pins.pull(pins.DOWNS[side])
    time.sleep_us(2 * SEE_US)
    return _millivolts(analog.mean(side, 4 * LOOKS_EACH))


def _until(begun: "_TicksUs", us: int) -> None:
    left = us - time.ticks_diff(time.ticks_us(), begun)
    if left > 0:
        time.sleep_us(left)
