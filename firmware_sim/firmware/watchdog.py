"""The watchdog: a loop that stops resets the chip, whose pins are inputs then, and nothing is driven."""

from machine import WDT

LIMIT_MS = 4000

_running: "list[WDT]" = []


def watch_over() -> None:
    """Start it, once.

    The first message starts it and not the power, since it cannot be stopped: a board that nobody has spoken to
    yet can be flashed at leisure.
    """
    if not _running:
        _running.append(WDT(timeout=LIMIT_MS))


def alive() -> None:
    """Tell it that the loop still runs."""
    for watchdog in _running:
        watchdog.feed()
