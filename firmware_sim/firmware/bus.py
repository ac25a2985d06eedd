"""The three parts on the I2C bus: the switches that tie contacts low, the 16-bit converter, the step's delay."""

import time

from machine import I2C, Pin

SWITCHES = 0x22  # 24-bit output expander
CONVERTER = 0x48  # 16-bit converter, four inputs, in pairs
DELAY = 0x60  # 12-bit converter that delays the step

OUTPUTS = 0x84  # expander: output registers, counting up
DIRECTIONS = 0x8C

# Switches beside the eighteen that tie contacts low.
ECHO_ON = 1 << 18
JOIN_BUSES = 1 << 19
LOW_LEVEL = 1 << 20  # 56 ohm from the high bus to ground: behind 10 kohm it leaves 18 mV, open circuit

# Converter: which two inputs, and full scale in microvolts of the gains it has.
CONTACT_PAIR = 0x0000  # sense high - sense low
SHUNT = 0x3000  # across the 100 ohm through which the low bus returns
SHUNT_OHM = 100
GAINS_UV = (6144000, 4096000, 2048000, 1024000, 512000, 256000)
SINGLE_SHOT = 0x8100
FASTEST = 0x00E3  # 860 conversions a second, comparator off
CONVERSION_US = 1250

DELAY_STEP_PS = 16  # of the step for each count of the delay converter

_bus = I2C(0, sda=Pin(0), scl=Pin(1), freq=400_000)
_pointer = bytearray(1)
_word = bytearray(2)


def begin() -> None:
    """Make the switches outputs, all off."""
    switches(0)
    _bus.writeto(SWITCHES, bytes((DIRECTIONS, 0, 0, 0)))


def answers() -> bool:
    """Return whether all three parts are on the bus."""
    there = _bus.scan()
    return SWITCHES in there and CONVERTER in there and DELAY in there


def switches(bits: int) -> None:
    """Set the switches: bits 0-17 tie a contact low through 1 kohm, then the echo stage and the joined buses."""
    _bus.writeto(SWITCHES, bytes((OUTPUTS, bits & 255, bits >> 8 & 255, bits >> 16 & 255)))


def delay(ps: int) -> None:
    """Delay the step by a time within one tick, picoseconds."""
    count = ps // DELAY_STEP_PS
    _bus.writeto(DELAY, bytes((count >> 8, count & 255)))


def microvolts(inputs: int, gain: int) -> int:
    """Convert once; full scale is GAINS_UV[gain], which is what comes back when it is exceeded."""
    setting = SINGLE_SHOT | inputs | gain << 9 | FASTEST
    _bus.writeto(CONVERTER, bytes((1, setting >> 8, setting & 255)))
    time.sleep_us(CONVERSION_US)
    _bus.writeto(CONVERTER, b"\x00")
    _bus.readfrom_into(CONVERTER, _word)
    count = _word[0] << 8 | _word[1]
    if count & 0x8000:
        count -= 0x10000
    if count == 0x7FFF:
        return GAINS_UV[gain]
    return count * GAINS_UV[gain] // 32768


def microvolts_ranged(inputs: int) -> int:
    """Convert at the finest gain that holds the value, microvolts."""
    value = microvolts(inputs, 1)
    size = value if value >= 0 else -value
    gain = 5
    while gain > 1 and size * 10 > GAINS_UV[gain] * 9:
        gain -= 1
    return microvolts(inputs, gain) if gain > 1 else value
