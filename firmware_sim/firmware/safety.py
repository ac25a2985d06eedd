"""What holds whatever happens: the watchdog, and letting go of every contact."""

import bus
import pins
import step
from machine import WDT

LIMIT_MS = 4000

_watchdog: "list[WDT]" = []


def begin() -> None:
    """Let go of everything and start the watchdog; from here a loop that stops resets the chip, and force is off."""
    let_go()
    bus.begin()
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
