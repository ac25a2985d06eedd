"""Looking at voltages that are already there; force stays off throughout, nothing is driven.

Both sense buses hang on the middle of the supply through 2.7 kohm, each contact comes to them through 100 kohm.
A voltage between two contacts and no other way (an isolated source) shows half on either bus; one that
belongs to the tester's own ground shows whole.
"""

import time

import analog
import pins
import watchdog
import whole

TYPE_CHECKING = False
if TYPE_CHECKING:
    from _mpy_shed.time_mp import _TicksUs

SUSPECT_MV = 220  # a pair that seems to have more is looked at for a whole window
RATIO_X10 = 380  # (100 k + 2.7 k) / 2.7 k, times ten
WINDOW_US = 100_000  # whole periods of 50 and of 60 Hz
SAMPLES = 50
NOISE_VARIANCE = 4  # of the converter itself, counts squared


def begin(rounds: int = 1) -> int:
    """Go to the voltmeter and return its zero: sixteen readings of an input that leads nowhere, added up.

    rounds: how many such sums are averaged.
    """
    pins.release()
    pins.SENSE.value(1)
    time.sleep_us(pins.SETTLE_US)
    total = 0
    for _ in range(4 * rounds):
        total += analog.sensed_x4()
    return total // rounds


def millivolts(counts: int, readings: int) -> int:
    """Convert so many readings added up, their zeros taken off, to millivolts at a contact."""
    value = 2 * counts * 3300 * RATIO_X10 // (4096 * 10 * readings)
    return (value + 1) // 2


def row(a: int, zero: int) -> "list[tuple[int, int, int]]":
    """Look quickly at contact a with each later one; return (a, other, millivolts) where there seems a voltage."""
    found = []
    limit = SUSPECT_MV * 4 * 4096 * 10 // (3300 * RATIO_X10 * 2)
    level = zero // 4
    high = pins.ADDRESS[a]
    for b in range(a + 1, pins.CONTACTS):
        pins.select(high, pins.ADDRESS[b])
        time.sleep_us(pins.SETTLE_US)
        seen = analog.sensed_x4() - level
        if seen > limit or seen < -limit:
            found.append((a, b, 2 * millivolts(seen, 4)))
    return found


def pairs(zero: int) -> "list[tuple[int, int, int]]":
    """Look quickly at every two contacts; return (contact, other, millivolts) where there seems a voltage."""
    found = []
    for a in range(pins.CONTACTS - 1):
        found.extend(row(a, zero))
    return found


def one_by_one(zero: int) -> "tuple[list[int], list[int]]":
    """Average every contact over exactly 100 ms; return d.c. and a.c. (r.m.s.) of each, millivolts from the middle."""
    totals = [0] * pins.CONTACTS
    squares = [0] * pins.CONTACTS
    begun = time.ticks_us()
    for sample in range(SAMPLES):
        for contact in range(pins.CONTACTS):
            pins.select(pins.ADDRESS[contact], pins.OPEN)
            time.sleep_us(pins.SETTLE_US // 2)
            seen = analog.sensed()
            totals[contact] += seen
            squares[contact] += seen * seen
        _until(begun, (sample + 1) * (WINDOW_US // SAMPLES))
    watchdog.alive()
    steady = [_steady(total, zero) for total in totals]
    swing = [_swing(totals[contact], squares[contact]) for contact in range(pins.CONTACTS)]
    return steady, swing


def of_pair(a: int, b: int, zero: int) -> "tuple[int, int]":
    """Average the voltage of contact a against b over exactly 100 ms; return d.c. and a.c. (r.m.s.), millivolts."""
    pins.select(pins.ADDRESS[a], pins.ADDRESS[b])
    begun = time.ticks_us()
    total = square = 0
    for sample in range(SAMPLES):
        _until(begun, (sample + 1) * (WINDOW_US // SAMPLES))
        seen = analog.sensed()
        total += seen
        square += seen * seen
    watchdog.alive()
    return 2 * _steady(total, zero), 2 * _swing(total, square)


def quick(a: int, b: int, zero: int) -> int:
    """Return the voltage of contact a against b at this moment, millivolts."""
    pins.select(pins.ADDRESS[a], pins.ADDRESS[b])
    time.sleep_us(pins.SETTLE_US)
    return 2 * millivolts(analog.sensed_x4() - zero // 4, 4)


def _steady(total: int, zero: int) -> int:
    return millivolts(16 * total - SAMPLES * zero, 16 * SAMPLES)


def _swing(total: int, square: int) -> int:
    variance = SAMPLES * square - total * total - NOISE_VARIANCE * SAMPLES * SAMPLES
    return millivolts(whole.root(variance), SAMPLES) if variance > 0 else 0


def _until(begun: "_TicksUs", us: int) -> None:
    left = us - time.ticks_diff(time.ticks_us(), begun)
    if left > 0:
        time.sleep_us(left)
