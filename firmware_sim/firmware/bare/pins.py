"""The pins of the bare board, and the only places that move them: each leads to a contact through 68 kohm.

Contacts are numbered from 0 in matrix order: near 1-8, near S, far 1-8, far S; masks have a bit for each. A contact is
held low, held high, or let go.
"""

import contacts
from machine import Pin

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

NEAR = ("1", "2", "3", "4", "5", "6", "7", "8", "S")
FAR = NEAR
CONTACTS = len(NEAR) + len(FAR)
ALL = (1 << CONTACTS) - 1
CALL_US = 4  # what letting go takes, and reading (estimate; not measured)

_NO_PULL: "Any" = None  # so MicroPython has it, and its types have not

_pins = [Pin(number, Pin.IN, _NO_PULL) for number in contacts.PINS]


def low(mask: int) -> None:
    """Hold contacts low."""
    for contact in range(CONTACTS):
        if mask >> contact & 1:
            _pins[contact].init(Pin.OUT, _NO_PULL, value=0)


def high(contact: int) -> None:
    """Hold one contact high."""
    _pins[contact].init(Pin.OUT, _NO_PULL, value=1)


def loose(mask: int) -> None:
    """Let contacts float."""
    for contact in range(CONTACTS):
        if mask >> contact & 1:
            _pins[contact].init(Pin.IN, _NO_PULL)


def drop(contact: int) -> None:
    """Let one contact float, at once."""
    _pins[contact].init(Pin.IN, _NO_PULL)


def is_high(contact: int) -> bool:
    """Return whether a contact reads as high."""
    return _pins[contact].value() == 1
