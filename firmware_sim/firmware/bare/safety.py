"""What holds whatever happens: the watchdog, and letting go of every contact."""

import time

import pins
from machine import WDT

LIMIT_MS = 4000
DISCHARGE_US = 6000  # five times 68 kohm and what 300 m of a conductor hold

_watchdog: "list[WDT]" = []


def begin() -> None:
    """Let go of everything."""
    let_go()


def watch_over() -> None:
    """Start the watchdog, once: from here a loop that stops resets the chip, and its pins are inputs.

    The first message starts it and not the power, since it cannot be stopped: a board that nobody has spoken to
    yet can be flashed at leisure.
    """
    if not _watchdog:
        _watchdog.append(WDT(timeout=LIMIT_MS))


def alive() -> None:
    """Tell the watchdog that the loop still runs."""
    for watchdog in _watchdog:
        watchdog.feed()


def let_go() -> None:
    """Drive nothing."""
    pins.loose(pins.ALL)


def bring_down() -> None:
    """Take the charge off every contact, and let go."""
    pins.loose(pins.ALL)
    pins.low(pins.ALL)
    time.sleep_us(DISCHARGE_US)
    pins.loose(pins.ALL)
