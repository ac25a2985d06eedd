"""What must be true before anything is driven, in its order, each step with its own refusal."""

import time

import answer
import look
import pins
import safety
import selftest

LIMIT_MV = 300
CELL_MV = 1000
MIDDLE_MV = 1650
PROBING_MV = (2000, 11_000)
PROBING_MS = 2500
PROBING_STEP_MS = 100
FRESH_MS = 3000

_quiet = [False, 0]  # whether all looks were passed since the last surprise, and when


def forget() -> None:
    """Trust nothing seen so far: the next measurement looks for a source that probes, too."""
    _quiet[0] = False


def refuse(found: "list[tuple[int, int, str]]") -> None:
    """Let go of everything and refuse with (contact, millivolts, kind) for each voltage found."""
    safety.let_go()
    forget()
    fields = ["%d" % len(found)]
    for contact, millivolts, kind in found:
        fields.extend(("%d" % (contact + 1), "%d" % millivolts, kind))
    raise answer.Refused("FOREIGN", fields)


def pass_all() -> None:
    """Self-test, foreign voltage, sources that probe: return only when nothing stands against driving."""
    mask = selftest.run()
    if mask:
        safety.let_go()
        raise answer.Refused("SELFTEST", ["%d" % mask])
    found = voltages(LIMIT_MV)
    if found:
        refuse(found)
    if not _quiet[0]:
        wait_for_probing()
    _quiet[0] = True
    _quiet[1] = time.ticks_ms()


def pass_quickly() -> None:
    """As pass_all, but only with the quick look when everything was passed a moment ago."""
    if not _quiet[0] or time.ticks_diff(time.ticks_ms(), _quiet[1]) > FRESH_MS:
        pass_all()
        return
    zero = look.begin()
    suspects = look.pairs(zero)
    if suspects:
        found = _of_pairs(suspects, zero, LIMIT_MV)
        if found:
            refuse(found)
    pins.release()


def look_again(a: int) -> None:
    """Look at one row of contacts between two rows of a scan."""
    zero = look.begin()
    suspects = look.row(a, zero)
    if suspects:
        found = _of_pairs(suspects, zero, LIMIT_MV)
        if found:
            refuse(found)


def voltages(limit_mv: int) -> "list[tuple[int, int, str]]":
    """Return (contact, millivolts, kind) for every contact with more than the limit; nothing is driven."""
    zero = look.begin()
    suspects = look.pairs(zero)
    steady, swing = look.one_by_one(zero)
    found = []
    known = []
    for contact in range(pins.CONTACTS):
        # A contact that floats lies at the middle; one that belongs to the tester's ground does not.
        level = steady[contact] + MIDDLE_MV if abs(steady[contact]) > limit_mv // 2 else 0
        if abs(level) > limit_mv and abs(steady[contact]) > limit_mv:
            found.append((contact, level, "DC"))
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
        return steady, "DC"
    return 0, ""


def _comes_and_goes(a: int, b: int, zero: int) -> bool:
    least = 1 << 20
    for _ in range(PROBING_MS // PROBING_STEP_MS):
        time.sleep_ms(PROBING_STEP_MS)
        safety.alive()
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
                refuse(found)
        time.sleep_ms(PROBING_STEP_MS)
        safety.alive()
    pins.release()
