"""What must be true before anything is driven, in its order, each step with its own refusal."""

import time

import analog
import answer
import look
import pins
import safety
import selftest
import step
import trust
import watchdog
import windings

LIMIT_MV = 300
CELL_MV = 1000
MIDDLE_MV = 1650
PROBING_MV = (1000, 31_000)  # at a load of about 100 kohm; what stays is no probing
PROBING_MS = 2500
PROBING_STEP_MS = 100
ZERO_ROUNDS = 8
LISTEN_MS = 17  # a live 10 Mbit/s port pulses every 16 ms
WINDINGS_MS = 1500  # a sleeping port pulses about once a second
LISTEN_MV = (300, 600, 1200)
LISTEN_PAIRS = pins.PLUG_PAIRS + ((9, 10), (11, 14), (12, 13), (15, 16), (8, 17))


def pass_all() -> None:
    """Self-test, foreign voltage, sources that probe, live ports: return only when nothing stands against driving."""
    mask = selftest.run()
    if mask:
        safety.let_go()
        raise answer.Refused("SELFTEST", ["%d" % mask])
    found = voltages(LIMIT_MV)
    if found:
        trust.refuse(found)
    if not trust.begun():
        wait_for_probing()
    listen(LISTEN_PAIRS, LISTEN_MS)
    trust.begin()


def pass_quickly() -> None:
    """As pass_all, but only with the quick look when everything was passed a moment ago."""
    if not trust.is_fresh():
        pass_all()
        return
    zero = look.begin()
    suspects = look.pairs(zero)
    if suspects:
        found = _of_pairs(suspects, zero, LIMIT_MV)
        if found:
            trust.refuse(found)
    pins.release()


def look_again(a: int) -> None:
    """Look at one row of contacts between two rows of a scan."""
    zero = look.begin()
    suspects = look.row(a, zero)
    if suspects:
        found = _of_pairs(suspects, zero, LIMIT_MV)
        if found:
            trust.refuse(found)


def voltages(limit_mv: int) -> "list[tuple[int, int, str]]":
    """Return (contact, millivolts, kind) for every contact with more than the limit; nothing is driven."""
    zero = look.begin(ZERO_ROUNDS)
    suspects = look.pairs(zero)
    steady, swing = look.one_by_one(zero)
    found = []
    known = []
    for contact in range(pins.CONTACTS):
        # A contact that floats lies at the middle; one that belongs to the tester's ground does not.
        level = steady[contact] + MIDDLE_MV if abs(steady[contact]) > limit_mv // 2 else 0
        if abs(level) > limit_mv and abs(steady[contact]) > limit_mv:
            found.append((contact, level, "CELL" if _collapses(contact, -1, level) else "DC"))
            known.append(contact)
        elif swing[contact] > limit_mv:
            found.append((contact, swing[contact], "AC"))
            known.append(contact)
    rest = [pair for pair in suspects if pair[0] not in known and pair[1] not in known]
    found.extend(_of_pairs(rest, zero, limit_mv))
    pins.release()
    return found


def _of_pairs(suspects: "list[tuple[int, int, int]]", zero: int, limit_mv: int) -> "list[tuple[int, int, str]]":
    """Look for a whole window at the pair that shows most for each contact, and say what it is."""
    best: "dict[int, tuple[int, int, int]]" = {}
    for a, b, seen in suspects:
        for contact, other, value in ((a, b, seen), (b, a, -seen)):
            if contact not in best or abs(value) > abs(best[contact][2]):
                best[contact] = (contact, other, value)
    found = []
    done: "dict[tuple[int, int], tuple[int, str]]" = {}
    for contact in sorted(best):
        _, other, seen = best[contact]
        if (other, contact) in done:
            value, kind = done[(other, contact)]
            value = -value if kind != "AC" else value
        else:
            value, kind = _kind(contact, other, seen, zero, limit_mv)
            done[(contact, other)] = (value, kind)
        if kind:
            found.append((contact, value, kind))
    return found


def _kind(a: int, b: int, seen: int, zero: int, limit_mv: int) -> "tuple[int, str]":
    steady, swing = look.of_pair(a, b, zero)
    if swing > limit_mv and swing > abs(steady):
        return swing, "AC"
    largest = steady if abs(steady) > abs(seen) else seen
    if PROBING_MV[0] < abs(largest) < PROBING_MV[1] and _comes_and_goes(a, b, zero):
        return largest, "PROBE"
    if abs(steady) > limit_mv:
        return steady, "CELL" if _collapses(a, b, steady) else "DC"
    return 0, ""


def _collapses(a: int, b: int, millivolts: int) -> bool:
    """Return whether a voltage under 1 V falls to less than half under 10 kohm to ground: a wet plug is a cell."""
    if abs(millivolts) >= CELL_MV:
        return False
    high, low = pins.ADDRESS[a], pins.OPEN if b < 0 else pins.ADDRESS[b]
    if millivolts < 0 and b >= 0:
        high, low = low, high
    pins.release()
    pins.range_to(pins.PROBE)
    pins.select(high, low)
    pins.FORCE.value(1)
    time.sleep_ms(2)
    loaded = analog.high_bus_x16() * 3300 // (16 * analog.FULL_SCALE)
    look.begin()
    return 2 * loaded < abs(millivolts)


def listen(pairs: "tuple[tuple[int, int], ...]", wait_ms: int) -> None:
    """Listen to pairs for the edges of a live port; nothing feeds the bus meanwhile."""
    for a, b in pairs:
        level = 0
        for millivolts in LISTEN_MV:
            if not _edges(a, b, millivolts, wait_ms):
                break
            level = millivolts
        if level:
            trust.refuse([(a, level, "LINK"), (b, -level, "LINK")])
    pins.release()


def _edges(a: int, b: int, millivolts: int, wait_ms: int) -> bool:
    for first, second in ((a, b), (b, a)):
        pins.release()
        step.threshold(millivolts * step.FULL_DUTY // 3300)
        pins.select(pins.ADDRESS[first], pins.ADDRESS[second])
        pins.FORCE.value(1)
        step.listen_begin()
        time.sleep_ms(wait_ms)
        watchdog.alive()
        if step.heard():
            return True
    return False


def pass_windings(seen: "list[int | None]") -> bool:
    """Where windings are seen, look for a source that probes and for a sleeping port; return whether there are any."""
    pairs = windings.windings(seen)
    if pairs:
        wait_for_probing()
        listen(tuple(pairs), WINDINGS_MS)
    return bool(pairs)


def _comes_and_goes(a: int, b: int, zero: int) -> bool:
    least = 1 << 20
    for _ in range(PROBING_MS // PROBING_STEP_MS):
        time.sleep_ms(PROBING_STEP_MS)
        watchdog.alive()
        least = min(least, abs(look.quick(a, b, zero)))
    return least < LIMIT_MV


def wait_for_probing() -> None:
    """Look on for as long as a source of power over the cable takes to probe for a device."""
    zero = look.begin()
    for _ in range(PROBING_MS // PROBING_STEP_MS):
        suspects = look.pairs(zero)
        if suspects:
            found = _of_pairs(suspects, zero, LIMIT_MV)
            if found:
                trust.refuse(found)
        time.sleep_ms(PROBING_STEP_MS)
        watchdog.alive()
    pins.release()
