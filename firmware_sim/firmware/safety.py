"""What holds whatever happens: the watchdog, and letting go of every contact."""

import time

import bus
import pins
import step
from machine import WDT

LIMIT_MS = 4000
DISCHARGE_US = 1000

_watchdog: "list[WDT]" = []


def begin() -> None:
    """Let go of everything."""
    let_go()
    bus.begin()


def watch_over() -> None:
    """Start the watchdog, once: from here a loop that stops resets the chip, and force is off.

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
    """Drive nothing, tie nothing."""
    step.down()
    pins.release()
    bus.switches(0)


def bring_down() -> None:
    """Take the charge off every contact through its tie; for the end of a measurement that nothing spoke against."""
    step.down()
    pins.release()
    pins.DISCHARGE.value(1)
    time.sleep_us(DISCHARGE_US)
    pins.DISCHARGE.value(0)
