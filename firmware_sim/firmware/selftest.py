"""Whether the tester itself is sound, found without touching a contact of the sockets."""

import time

import analog
import bus
import pins

REFERENCE = 1  # the middle of the supply is not there
BUS = 2  # a part on the I2C bus does not answer
BAD_LINK = 4  # the link at the multiplexers is not a link
BAD_KNOWN = 8  # the known resistor is not 1 kohm
NOT_OPEN = 16  # the open input is not open


def run() -> int:
    """Return a bit mask of what is wrong, 0 = sound."""
    pins.release()
    mask = 0
    middle = analog.reference_x16()
    if not 16 * 1980 < middle < 16 * 2116:
        mask |= REFERENCE
    if not bus.answers():
        mask |= BUS
    pins.range_to(pins.PROBE)
    pins.FORCE.value(1)
    pins.SOURCE.value(1)
    if not _between(pins.LINK, 0, 250):
        mask |= BAD_LINK
    if not _between(pins.KNOWN, 450, 620):
        mask |= BAD_KNOWN
    if not _between(pins.OPEN, 4000, 4096):
        mask |= NOT_OPEN
    pins.release()
    return mask


def _between(address: int, low: int, high: int) -> bool:
    pins.select(address, address)
    time.sleep_us(pins.SETTLE_US)
    return low <= analog.high_bus_x16() // 16 <= high
