"""The 16-bit converter on I2C: what stands between its inputs, nanovolts."""

import time

import micropython
from machine import I2C, Pin

ADDRESS = 0x48
# Inputs: eleven times the difference of the commons; each common once.
DIFFERENCE, ONCE_DIFFERENCE, ONCE_A, ONCE_B = 0x0000, 0x3000, 0x6000, 0x7000
ONCE = (ONCE_A, ONCE_B)
# Full scales, microvolts, by their codes.
GAINS_UV = (6144000, 4096000, 2048000, 1024000, 512000, 256000)
TWO_VOLT, ONE_VOLT, HALF_VOLT, QUARTER_VOLT = 2, 3, 4, 5
SINGLE_SHOT = 0x8100
FASTEST = 0x00E3  # 860 conversions a second, comparator off
SLOWEST_US = 1400

_bus = I2C(0, sda=Pin(0), scl=Pin(1), freq=400_000)
_word = bytearray(2)
_gain = [HALF_VOLT]
_lasts_us = [SLOWEST_US]


def answers() -> bool:
    """Return whether it is there; if so, time a conversion, which differs from part to part."""
    if ADDRESS not in _bus.scan():
        return False
    begin(DIFFERENCE, HALF_VOLT)
    begun = time.ticks_us()
    took = 0
    while took < 2 * SLOWEST_US:
        _bus.readfrom_into(ADDRESS, _word)
        took = time.ticks_diff(time.ticks_us(), begun)
        if _word[0] & 0x80:
            break
    _lasts_us[0] = took
    return took < 2 * SLOWEST_US


@micropython.native
def begin(inputs: int, gain: int) -> None:
    """Start a conversion."""
    setting = SINGLE_SHOT | inputs | gain << 9 | FASTEST
    _gain[0] = gain
    _bus.writeto(ADDRESS, bytes((1, setting >> 8, setting & 255)))


def wait() -> None:
    """Wait until a conversion begun just now is over."""
    time.sleep_us(_lasts_us[0])


def lasts_us() -> int:
    """Return how long a conversion takes."""
    return _lasts_us[0]


@micropython.native
def take() -> int:
    """Return what was converted last, nanovolts."""
    _bus.writeto(ADDRESS, b"\x00")
    _bus.readfrom_into(ADDRESS, _word)
    count = _word[0] << 8 | _word[1]
    if count & 0x8000:
        count -= 0x10000
    return count * GAINS_UV[_gain[0]] * 1000 // 32768


@micropython.native
def nanovolts(inputs: int, gain: int) -> int:
    """Convert once."""
    begin(inputs, gain)
    wait()
    return take()
