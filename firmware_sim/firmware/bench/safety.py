"""What holds whatever happens: letting go of every contact."""

import time

import pins

DISCHARGE_US = 1000


def begin() -> None:
    """Switch the board on; a part that is missing is the self-test's to find."""
    pins.power()
    let_go()


def let_go() -> None:
    """Drive nothing."""
    pins.release()


def bring_down() -> None:
    """Take the charge off every contact, for the end of a measurement that nothing spoke against."""
    pins.release()
    pins.hold(pins.ALL, 0)
    time.sleep_us(DISCHARGE_US)
    pins.release()
