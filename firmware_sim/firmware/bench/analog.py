"""The chip's own 12-bit converter on both commons: counts of 4096 for the whole supply.

Its code jumps by about eight counts at four places (from memory); that is taken out here, as well as a table can.
Values are 256ths of a count.
"""

import time

from machine import ADC, Pin

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Callable

FULL_SCALE = 4096
# Codes beyond which another eight is too much, and what is left of the scale without them.
JUMPED = (516, 1548, 2580, 3612)
JUMP = 8
LEFT = FULL_SCALE - 4 * JUMP
SETTLE_US = 90  # after a multiplexer turned
COMMON_US = 70
STILL_US, STILL_READINGS, MOST_LOOKS = 16, 8, 60
STILL = 512  # 256ths of a count between two such means

_commons = (ADC(Pin(26)), ADC(Pin(27)))


def mean(side: int, readings: int) -> int:
    """Return the mean of some readings of a common, 256ths of a count."""
    read = _commons[side].read_u16
    codes = [read() >> 4 for _ in range(readings)]
    total = sum(codes)
    # One jump after the other: as a rule all readings are beyond it, or none is.
    least, most = min(codes), max(codes)
    for at in JUMPED:
        if most <= at:
            break
        total -= JUMP * (readings if least > at else sum([code > at for code in codes]))
    return total * (256 * FULL_SCALE) // (LEFT * readings)


def plain(side: int) -> int:
    """Return a reading of a common as it is, 65536 for the whole supply."""
    return _commons[side].read_u16()


def reader(side: int) -> "Callable[[], int]":
    """Return what `plain` asks, for who has no time for a call more."""
    return _commons[side].read_u16


def brief(side: int) -> int:
    """Return the mean of four readings of a common, 256ths of a count, quickly."""
    read = _commons[side].read_u16
    total = (read() >> 4) + (read() >> 4) + (read() >> 4) + (read() >> 4)
    for at in JUMPED:
        if total <= 4 * at:
            break
        total -= 4 * JUMP
    return total * (64 * FULL_SCALE) // LEFT


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
