"""The chip's own 12-bit converter on both commons: counts of 4096 for the whole supply.

Its code jumps by about eight counts at four places (from memory); that is taken out here, as well as a table can.
Values are 256ths of a count. Numbers stay below 2^30: larger ones the chip keeps on its heap, and works at slowly.
"""

import time

import micropython
from machine import ADC, Pin

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Callable

FULL_SCALE = 4096
# Codes beyond which another eight is too much, and what is left of the scale without them.
JUMPED = (516 * 256, 1548 * 256, 2580 * 256, 3612 * 256)
JUMPS_APART = 2 * JUMPED[0]  # from one to the next
JUMP = 8 * 256
AT_A_JUMP = 12 * 256  # from such a code, where some readings may lie beyond it and some not
STRETCHED = (128, 127)  # what is left of the scale without them is 4064 of 4096
SETTLE_US = 90  # after a multiplexer turned
COMMON_US = 70
STILL_US, STILL_READINGS, MOST_LOOKS = 16, 8, 60
STILL = 512  # 256ths of a count between two such means

_commons = (ADC(Pin(26)), ADC(Pin(27)))
_reads = (_commons[0].read_u16, _commons[1].read_u16)


@micropython.native
def mean(side: int, readings: int) -> int:
    """Return the mean of some readings of a common, whole fours of them, 256ths of a count."""
    read = _reads[side]
    total = 0
    for _ in range(readings >> 2):
        total += read() + read() + read() + read()
    value = total * 16 // readings
    value -= value >> 12  # a reading has its 4096 steps spread over 65536, and their upper half once more below
    beyond = 0
    # One jump after the other: as a rule all readings are beyond it, or none is.
    for at in JUMPED:
        if value < at - AT_A_JUMP:
            break
        if value <= at + AT_A_JUMP:
            return _mean_at_a_jump(side, readings)
        beyond += JUMP
    return (value - beyond) * STRETCHED[0] // STRETCHED[1]


def _mean_at_a_jump(side: int, readings: int) -> int:
    """Read once more, and take each reading as it is."""
    values = [(_reads[side]() >> 4) * 256 for _ in range(readings)]
    total = sum(values)
    for at in JUMPED:
        total -= JUMP * sum([value > at for value in values])
    return total // readings * STRETCHED[0] // STRETCHED[1]


@micropython.native
def jumps_between(one: int, other: int) -> int:
    """Return which jumps lie between two means, or so near that some readings may be beyond; 0: none."""
    low, high = (one, other) if one < other else (other, one)
    first = (low - AT_A_JUMP + JUMPED[0]) // JUMPS_APART
    last = (high + AT_A_JUMP + JUMPED[0]) // JUMPS_APART
    return 0 if first == last else first << 3 | last


def plain(side: int) -> int:
    """Return a reading of a common as it is, 65536 for the whole supply."""
    return _reads[side]()


def reader(side: int) -> "Callable[[], int]":
    """Return what `plain` asks, for who has no time for a call more."""
    return _reads[side]


@micropython.native
def still(side: int) -> int:
    """Wait until a common no longer moves, and half as long again; return how long it moved, microseconds.

    0 where that was no longer than a common itself takes.
    """
    begun = time.ticks_us()
    moved = 0
    time.sleep_us(COMMON_US)
    before = mean(side, STILL_READINGS)
    for _ in range(MOST_LOOKS):
        time.sleep_us(STILL_US)
        at_us = time.ticks_diff(time.ticks_us(), begun)
        now = mean(side, STILL_READINGS)
        if -STILL <= now - before <= STILL:
            break
        before = now
        moved = at_us
    time.sleep_us(time.ticks_diff(time.ticks_us(), begun) // 2)
    return moved
