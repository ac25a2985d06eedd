"""The pins of the board, and the only places that move them.

Contacts are numbered from 0 in matrix order: near 1-8, near S, far 1-8, far S. Beside them each multiplexer
has a few inputs that lead to no socket: a link, a known resistor, and one that is left open.
"""

from machine import Pin, mem32

NEAR = ("1", "2", "3", "4", "5", "6", "7", "8", "S")
FAR = NEAR
CONTACTS = len(NEAR) + len(FAR)
# The pairs of a plug, as the echo stage and the look for a live port have them.
PLUG_PAIRS = ((0, 1), (2, 5), (3, 4), (6, 7))

# Where a contact sits on the multiplexers: near ones on the first of each, far ones on the second.
ADDRESS = tuple(range(9)) + tuple(range(16, 25))
OPEN = 31
LINK = 30
KNOWN = 29

# What the high bus is fed through, and with it what the low bus returns through. 0: nothing feeds it, and both sense
# buses hang on the middle of the supply through the dividers.
FULL = 1  # the source itself; what lies in the path leaves about 8 mA into a short
PROBE = 2  # 10 kohm, about 0.3 mA into a short
CHARGE = 3  # 100 kohm, for charging a capacitance

SETTLE_US = 40  # after a contact is chosen or fed otherwise, until a reading is worth taking
GPIO_OUT_XOR = 0xD000001C  # RP2040 datasheet, SIO registers
ADDRESS_SHIFT = 2

FORCE = Pin(12, Pin.OUT, value=0)
SENSE = Pin(13, Pin.OUT, value=0)
SOURCE = Pin(14, Pin.OUT, value=0)
RANGE_LOW = Pin(18, Pin.OUT, value=0)
RANGE_HIGH = Pin(19, Pin.OUT, value=0)
ECHO_LOW = Pin(20, Pin.OUT, value=0)
ECHO_HIGH = Pin(21, Pin.OUT, value=0)
DISCHARGE = Pin(22, Pin.OUT, value=0)
_address_pins = [Pin(2 + bit, Pin.OUT, value=0) for bit in range(10)]

_selected = [0]


def select(high: int, low: int) -> None:
    """Point the high side and the low side at two multiplexer addresses, in one write: nothing lies between."""
    bits = (high | low << 5) << ADDRESS_SHIFT
    mem32[GPIO_OUT_XOR] = bits ^ _selected[0]
    _selected[0] = bits


def steps_through(order: "tuple[int, ...]") -> "list[int]":
    """Return what to write to GPIO_OUT_XOR to step the high side from OPEN through addresses, and then to OPEN again.

    The low side stays at OPEN. For the watch, which has no time to work it out at every step.
    """
    found = []
    before = OPEN
    for address in order + (OPEN,):
        found.append((before ^ address) << ADDRESS_SHIFT)
        before = address
    return found


def range_to(code: int) -> None:
    """Choose what feeds the high bus; the source is taken down first, so that no step goes out with it."""
    SOURCE.value(0)
    RANGE_LOW.value(code & 1)
    RANGE_HIGH.value(code >> 1)


def echo_pair(number: int) -> None:
    """Choose which pair of the near plug the echo stage would be joined to."""
    ECHO_LOW.value(number & 1)
    ECHO_HIGH.value(number >> 1)


def release() -> None:
    """Let go of every contact: no source, no path, nothing selected."""
    SOURCE.value(0)
    FORCE.value(0)
    SENSE.value(0)
    DISCHARGE.value(0)
    RANGE_LOW.value(0)
    RANGE_HIGH.value(0)
    select(OPEN, OPEN)
