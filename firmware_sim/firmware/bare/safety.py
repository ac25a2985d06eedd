"""What holds whatever happens: letting go of every contact."""

import time

import pins

DISCHARGE_US = 6000  # five times 68 kohm and what 300 m of a conductor hold


def begin() -> None:
    """Let go of everything."""
    let_go()


def let_go() -> None:
    """Drive nothing."""
    pins.loose(pins.ALL)


def bring_down() -> None:
    """Take the charge off every contact, and let go."""
    pins.loose(pins.ALL)
    pins.low(pins.ALL)
    time.sleep_us(DISCHARGE_US)
    pins.loose(pins.ALL)
