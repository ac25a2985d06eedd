"""What holds whatever happens: the watchdog, and letting go of every contact."""

import time

import pins
from machine import WDT

LIMIT_MS = 4000
DISCHARGE_US = 1000

_watchdog: "list[WDT]" = []


def begin() -> None:
    """Switch the board on; a part that is missing is the self-test's to find."""
    pins.power()
    let_go()


def watch_over() -> None:
    """Start the watchdog, once: from here a loop that stops resets the chip, and with it the rail goes off.

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
    pins.release()


def bring_down() -> None:
    """Take the charge off every contact, for the end of a measurement that nothing spoke against."""
    pins.release()
    pins.hold(pins.ALL, 0)
    time.sleep_us(DISCHARGE_US)
    pins.release()
