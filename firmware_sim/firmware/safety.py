"""What holds whatever happens: letting go of every contact."""

import time

import bus
import pins
import step

DISCHARGE_US = 1000


def begin() -> None:
    """Let go of everything."""
    let_go()
    bus.begin()


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
