"""The pins of the bench board, and the only places that move them.

Contacts are numbered from 0 in matrix order: near 1-8, near S, far 1-8, far S; masks have a bit for each. A contact is
held low, held high, or floats; what a port's pin is let go from stays in its latch, so that it makes no step.
"""

import time

import micropython
from machine import SPI, Pin, mem32

NEAR = ("1", "2", "3", "4", "5", "6", "7", "8", "S")
FAR = NEAR
SIDE = len(NEAR)
CONTACTS = len(NEAR) + len(FAR)
ALL = (1 << CONTACTS) - 1
SIDE_MASK = (1 << SIDE) - 1
IDLE = ALL & ~(1 << SIDE - 1 | 1 << CONTACTS - 1)  # screens float, so that hull and ground meet through 22 kohm only
# The pairs of a plug, as equipment has windings on them.
PLUG_PAIRS = ((0, 1), (2, 5), (3, 4), (6, 7))

# Channels of both multiplexers beside the contacts 0-8 of their side.
KNOWN = 9  # A: the upper, B: the lower end of the known resistor
LINK = 10  # both: its lower end
PARK = 15

# What pulls a common: pins that are outputs while they pull.
UP_A, DOWN_A, UP_B, DOWN_B = 1 << 10, 1 << 11, 1 << 12, 1 << 13
UPS = (UP_A, UP_B)
DOWNS = (DOWN_A, DOWN_B)
PULLS = UP_A | DOWN_A | UP_B | DOWN_B

# What steps a common through a capacitor, for side A; for side B two bits further.
STEP, PEDESTAL = 1, 2

# RP2040 data sheet, SIO registers.
OUT_SET, OUT_CLEAR, OUT_XOR = 0xD0000014, 0xD0000018, 0xD000001C
ENABLE_SET, ENABLE_CLEAR = 0xD0000024, 0xD0000028
RAIL_US = 2000  # until the rail is up

WRITE, CONTROL, LATCH_A = 0x40, 0x0A, 0x14  # of a port
ADDRESSED = 8  # in its control register: its address pins count

bus = SPI(0, baudrate=8_000_000, sck=Pin(18), mosi=Pin(19), miso=Pin(16))
select = Pin(17, Pin.OUT, value=1)
_rail = Pin(15)
_addresses = [Pin(2 + bit) for bit in range(8)]
_lift = Pin(14)
_channels = [0]
_held = [0, 0]  # contacts low, high
_steps = [0]
_stepped = [0, 0]  # STEP and PED on each port's pins
_latches = [0, 0]  # of each port
_sent = bytearray((0, LATCH_A, 0, 0, 0, 0))  # one message after the other: no memory is asked for
_write = bus.write
_chosen = select.value


def power() -> None:
    """Switch the rail on, first of all, and then what hangs on it; every contact floats."""
    Pin(15, Pin.OUT, value=0)
    time.sleep_us(RAIL_US)
    for bit in range(8):
        Pin(2 + bit, Pin.OUT, value=1)
    _channels[0] = PARK | PARK << 4
    Pin(14, Pin.OUT, value=0)
    mem32[ENABLE_CLEAR] = PULLS
    mem32[OUT_SET] = UP_A | UP_B
    mem32[OUT_CLEAR] = DOWN_A | DOWN_B
    _message(bytes((WRITE, CONTROL, ADDRESSED)))
    _held[:] = [0, 0]
    _steps[0] = 0
    _stepped[:] = [0, 0]
    _latches[:] = [0, 0]
    for port in range(2):
        _tell(port, 0, 0)


@micropython.native
def _message(content: "bytes | bytearray") -> None:
    _chosen(0)
    _write(content)
    _chosen(1)


def port_answers(port: int) -> bool:
    """Return whether a port is there and still knows that its address counts."""
    found = bytearray(3)
    select.value(0)
    bus.write_readinto(bytes((WRITE | port << 1 | 1, CONTROL, 0)), found)
    select.value(1)
    return found[2] == ADDRESSED


@micropython.native
def hold(low: int, high: int) -> None:
    """Hold contacts low and high; all others float."""
    changed = low ^ _held[0] | high ^ _held[1]
    if changed & SIDE_MASK:
        _tell(0, low & SIDE_MASK, high & SIDE_MASK)
    if changed >> SIDE:
        _tell(1, low >> SIDE, high >> SIDE)
    _held[0] = low
    _held[1] = high


@micropython.native
def _tell(port: int, low: int, high: int) -> None:
    """Tell a port which contacts of its side to hold, with STEP and PED as they are."""
    # As _on_port has them: bits 7 and 8 of a side, added once more, are one place further up.
    driven = low | high
    driven += driven & 0x180 | 3 << 10
    latch = _latches[port] & ~driven | high + (high & 0x180) | _stepped[port]
    _latches[port] = latch
    _sent[0] = WRITE | port << 1
    _sent[2] = latch & 255
    _sent[3] = latch >> 8
    _sent[4] = ~driven & 255
    _sent[5] = ~driven >> 8 & 255
    _chosen(0)
    _write(_sent)
    _chosen(1)


def _told(port: int, low: int, high: int) -> bytes:
    """Return what tells a port to hold all contacts of its side so, nothing stepped."""
    driven = _on_port(low | high) | 3 << 10
    latch, inputs = _on_port(high), 0xFFFF & ~driven
    return bytes((WRITE | port << 1, LATCH_A, latch & 255, latch >> 8, inputs & 255, inputs >> 8))


def turns(contacts: "list[int]") -> "list[tuple[int, list[bytes]]]":
    """Return for each of some contacts what to write to OUT_XOR and to the ports to see it, high, after the one before.

    All others are low; the one before the first is the last. For the watch, which has no time to work it out each time.
    """
    found = []
    for place, contact in enumerate(contacts):
        before = contacts[place - 1]
        port, other = contact // SIDE, before // SIDE
        high = 1 << contact - SIDE * port
        messages = [_told(port, SIDE_MASK & ~high, high)]
        if other != port:
            messages.insert(0, _told(other, SIDE_MASK, 0))
        found.append(((_toward(contact) ^ _toward(before)) << 2, messages))
    return found


def end_turns(contact: int) -> None:
    """After turns up to a contact: all are low again."""
    _channels[0] = _toward(contact)
    take_back(contact // SIDE)


def _toward(contact: int) -> int:
    """Return the channels of both multiplexers that look at a contact and at nothing else."""
    return contact | PARK << 4 if contact < SIDE else PARK | contact - SIDE << 4


def _on_port(contacts: int) -> int:
    """Return the pins of a port that a side's contacts are on: 0 to 6, 8 and 9."""
    return contacts & 0x7F | (contacts & 0x180) << 1


_ALONE = [_told(contact // SIDE, SIDE_MASK & ~(1 << contact % SIDE), 0) for contact in range(CONTACTS)]
_LOW = [_told(side, SIDE_MASK, 0) for side in range(2)]


@micropython.native
def step(steps: int) -> None:
    """Set which of STEP and PED are up, both sides; the contacts stay as they are held."""
    changed = steps ^ _steps[0]
    _steps[0] = steps
    for port in range(2):
        if changed >> 2 * port & 3:
            _stepped[port] = (steps >> 2 * port & 3) << 10
            _tell(port, _held[0] >> SIDE * port & SIDE_MASK, _held[1] >> SIDE * port & SIDE_MASK)


@micropython.native
def look_at(a: int, b: int) -> None:
    """Turn both multiplexers to channels, in one write."""
    both = a | b << 4
    mem32[OUT_XOR] = (both ^ _channels[0]) << 2
    _channels[0] = both


@micropython.native
def let_go_of(contact: int) -> None:
    """Let one contact float while all others are low and nothing is stepped, in as little time as can be."""
    _message(_ALONE[contact])
    _held[0] = ALL & ~(1 << contact)


@micropython.native
def take_back(side: int) -> None:
    """Hold it low again."""
    _message(_LOW[side])
    _held[0] = ALL


@micropython.native
def see(contact: int) -> int:
    """Turn the multiplexer of a contact's side to it and park the other; return the side."""
    if contact < SIDE:
        look_at(contact, PARK)
        return 0
    look_at(PARK, contact - SIDE)
    return 1


@micropython.native
def pull(on: int) -> None:
    """Let these pull, in one write, and no others."""
    mem32[ENABLE_CLEAR] = PULLS & ~on
    if on:
        mem32[ENABLE_SET] = on


def lift(on: bool) -> None:
    """Raise the near port's ground by some 14 mV."""
    mem32[OUT_SET if on else OUT_CLEAR] = 1 << 14


def release() -> None:
    """Drive nothing: contacts low but for the screens, nothing pulled, stepped or looked at."""
    pull(0)
    lift(False)
    look_at(PARK, PARK)
    step(0)
    hold(IDLE, 0)
