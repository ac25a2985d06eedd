"""The chip's own 12-bit converter: quick and coarse. Values are counts of 4096 for 3.3 V."""

from machine import ADC, Pin

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Callable

FULL_SCALE = 4096

_high = ADC(Pin(26))
_voltage = ADC(Pin(27))
_reference = ADC(Pin(28))


def high_bus_reader() -> "Callable[[], int]":
    """Return what reads the high force bus once, in 65536ths: for the watch, which has no time for more calls."""
    return _high.read_u16


def high_bus() -> int:
    """Return one reading of the high force bus."""
    return _high.read_u16() >> 4


def high_bus_x16() -> int:
    """Return sixteen readings of the high force bus, added up."""
    return _x16(_high)


def sensed() -> int:
    """Return one reading of the high sense bus, as the divider brings it down around the middle of the supply."""
    return _voltage.read_u16() >> 4


def sensed_x4() -> int:
    """Return four readings of the high sense bus, added up."""
    return (
        (_voltage.read_u16() >> 4)
        + (_voltage.read_u16() >> 4)
        + (_voltage.read_u16() >> 4)
        + (_voltage.read_u16() >> 4)
    )


def reference_x16() -> int:
    """Return sixteen readings of the middle of the supply, added up."""
    return _x16(_reference)


def _x16(converter: ADC) -> int:
    total = 0
    for _ in range(16):
        total += converter.read_u16() >> 4
    return total
