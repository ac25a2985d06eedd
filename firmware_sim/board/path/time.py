"""Stands in for MicroPython's time: the board's own clock."""

from firmware_sim.board.power import board, clock

_PERIOD = 1 << 30


def sleep_us(us: int) -> None:
    """Let microseconds pass."""
    board.advance(us)


def sleep_ms(ms: int) -> None:
    """Let milliseconds pass."""
    board.advance(ms * 1000)


def ticks_us() -> int:
    """Return microseconds, wrapping as MicroPython's do."""
    return clock.now_us % _PERIOD


def ticks_ms() -> int:
    """Return milliseconds, wrapping as MicroPython's do."""
    return clock.now_us // 1000 % _PERIOD


def ticks_diff(later: int, earlier: int) -> int:
    """Return later - earlier across a wrap."""
    return (later - earlier + _PERIOD // 2) % _PERIOD - _PERIOD // 2
