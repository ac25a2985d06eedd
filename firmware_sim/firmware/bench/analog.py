"""The chip's own 12-bit converter on both commons: counts of 4096 for the whole supply.

Its code jumps by about eight counts at four places (from memory); that is taken out here, as well as a table can.
Values are 256ths of a count.
"""

import time

from machine import ADC, Pin

FULL_SCALE = 4096
# Codes from which on so many eights are too much, and what is left of the scale without them.
JUMPED = (516, 1548, 2580, 3612)
JUMP = 8
LEFT = FULL_SCALE - 4 * JUMP
SETTLE_US = 90  # after a multiplexer turned
STILL_US, MOST_LOOKS = 30, 60
STILL = 256 + 64  # 256ths of a count between two means of four

_commons = (ADC(Pin(26)), ADC(Pin(27)))


def mean(side: int, readings: int) -> int:
    """Return the mean of some readings of a common, 256ths of a count."""
    read = _commons[side].read_u16
    total = 0
    for _ in range(readings):
        code = read() >> 4
        for at in JUMPED:
            if code <= at:
                break
            code -= JUMP
        total += code
    return total * (256 * FULL_SCALE) // (LEFT * readings)


def still(side: int) -> int:
    """Wait until a common no longer moves, and as long again; return how long that took, microseconds."""
    before = mean(side, 4)
    waited = 0
    for _ in range(MOST_LOOKS):
        time.sleep_us(STILL_US)
        waited += 2 * STILL_US  # the readings take as long again
        now = mean(side, 4)
        if -STILL <= now - before <= STILL:
            break
        before = now
    time.sleep_us(waited)
    return 2 * waited
