"""Whether the tester itself is sound: every contact must come up when it is charged, and stay down when it was down.

How long a contact takes to come up is its own time, 68 kohm times what hangs on it, less what the calls take.
"""

import time

import answer
import look
import pins
import safety
import watchdog

HELD = 1  # a contact does not come up, or does not go down
LEAKS = 2  # a contact comes up while what it is joined to is held low
LONGEST_US = 8192  # 300 m of a conductor take about 1 ms
SHARES = 3  # halvings: a contact's own time is known to an eighth
AWAY = 8  # what charged for a time is gone after so many

weighed = [0] * pins.CONTACTS  # own times of the contacts, us, as the last weighing found them


def run() -> int:
    """Return a bit mask of what is wrong, 0 = sound; with a voltage at the contacts nothing is tried."""
    if look.voltages():
        return 0
    return HELD if _weigh() else 0


def weigh() -> None:
    """Find every contact's own time; refuses, with the contacts, when one does not come up or go down."""
    wrong = _weigh()
    if wrong:
        refuse(HELD, wrong)


def refuse(mask: int, wrong: "list[int]") -> None:
    """Let go of everything and refuse, naming contacts."""
    safety.let_go()
    raise answer.Refused("SELFTEST", ["%d" % mask] + ["%d" % (contact + 1) for contact in wrong])


def _weigh() -> "list[int]":
    safety.bring_down()
    wrong = []
    for contact in range(pins.CONTACTS):
        weighed[contact] = _own_time(contact)
        if not weighed[contact]:
            wrong.append(contact)
        safety.bring_down()  # with what rose beside it
        watchdog.alive()
    return wrong


def _own_time(contact: int) -> int:
    """Return how long a contact takes to come up, us, at least 1; 0 when it does not, or when it is up already."""
    us = 1
    while not _comes_up(contact, us):
        us *= 2
        if us > LONGEST_US:
            return 0
    if us == 1 and not _stays_down(contact):
        return 0
    below = us // 2
    for _ in range(SHARES):
        between = (below + us) // 2
        if between in (below, us):
            break
        if _comes_up(contact, between):
            us = between
        else:
            below = between
    return us


def _comes_up(contact: int, us: int) -> bool:
    bit = 1 << contact
    pins.low(bit)
    time.sleep_us(AWAY * us)
    pins.high(contact)
    time.sleep_us(us)
    pins.drop(contact)
    return pins.is_high(contact)


def _stays_down(contact: int) -> bool:
    bit = 1 << contact
    pins.low(bit)
    time.sleep_us(safety.DISCHARGE_US)
    pins.loose(bit)
    return not pins.is_high(contact)
