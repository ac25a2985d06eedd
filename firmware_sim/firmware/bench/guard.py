"""What must be true before anything is driven on the bench board, in its order, each step with its own refusal."""

import time

import answer
import look
import micropython
import pins
import safety
import selftest
import trust
import watchdog
import windings

LIMIT_MV = 300
SWING_MV = 285  # r.m.s. of an alternating voltage: 300 mV seen at its worst phases
# R.m.s. against mean: 1 for a steady voltage, 2.2 for one that swings; with DN alone a steady one counts twice, 1.4.
STEADY_X10, STEADY_ALONE_X10 = 15, 18
CELL_MV = 1000
PROBING_MV = 1000
PROBING_MS = 2500
PROBING_STEP_MS = 100


def pass_gently() -> None:
    """Self-test, what lies above the others, sources that probe: nothing yet that would break a film."""
    mask = selftest.run()
    if mask:
        safety.let_go()
        raise answer.Refused("SELFTEST", ["%d" % mask])
    _refuse_what(voltages(LIMIT_MV, False))
    if not trust.begun():
        wait_for_probing()


def pass_rest() -> None:
    """After the gentle part and whatever wants films whole: what lies below the others, too."""
    _refuse_what(voltages(LIMIT_MV, True))
    trust.begin()


def pass_quickly() -> None:
    """Look once at every contact when everything was passed a moment ago, else pass everything."""
    if not trust.is_fresh():
        pass_gently()
        pass_rest()
        return
    look_over()
    pins.release()


def look_over() -> None:
    """Look once at every contact, after what drove them."""
    if look.quick(LIMIT_MV, True):
        _refuse_what(voltages(LIMIT_MV, True))


@micropython.native
def look_at_nets(nets: "list[list[int]]") -> None:
    """Look once at every net while all of it floats: a wet plug is too weak to hold up a conductor's other end.

    Nothing is driven: once the nets are known by the low level it comes before the first current, and once more after.
    """
    look.begin()
    found = []
    for net in nets:
        level = look.one(net[0], False, sum([1 << contact for contact in net]))
        if level > LIMIT_MV:
            for contact in net:
                found.append((contact, level, _kind(contact, level)))
            look.begin()
    _refuse_what(found)


@micropython.native
def look_again(contact: int) -> None:
    """Look at one contact between two rows of a scan."""
    pins.hold(pins.ALL, 0)
    if look.one(contact) > LIMIT_MV or look.one(contact, True) < -LIMIT_MV:
        _refuse_what(voltages(LIMIT_MV, True))


def _refuse_what(found: "list[tuple[int, int, str]]") -> None:
    if found:
        trust.refuse(found)


def voltages(limit_mv: int, ups: bool) -> "list[tuple[int, int, str]]":
    """Return (contact, millivolts, kind) for every contact with more than the limit; nothing is driven."""
    seen = look.window(ups)
    found = []
    for contact in range(pins.CONTACTS):
        above, below, swing = seen.above[contact], seen.below[contact], seen.swing[contact]
        level = above if above >= -below else below
        size = level if level >= 0 else -level
        steady = 10 * swing < size * (STEADY_X10 if ups else STEADY_ALONE_X10)
        if size > limit_mv and steady:
            found.append((contact, level, _kind(contact, level)))
        elif swing > limit_mv * SWING_MV // LIMIT_MV and not steady:
            found.append((contact, swing, "AC"))
    pins.release()
    return found


def _kind(contact: int, level: int) -> str:
    size = level if level >= 0 else -level
    if size > PROBING_MV:
        return "PROBE" if _comes_and_goes(contact, level) else "DC"
    if size < CELL_MV and level > 0 and 2 * look.loaded(contact) < level:
        return "CELL"
    return "DC"


def _comes_and_goes(contact: int, level: int) -> bool:
    least = level if level >= 0 else -level
    for _ in range(PROBING_MS // PROBING_STEP_MS):
        look.begin()
        now = look.one(contact, level < 0)
        least = min(least, now if now >= 0 else -now)
        pins.release()
        time.sleep_ms(PROBING_STEP_MS)
        watchdog.alive()
        if least < LIMIT_MV:
            return True
    return False


def wait_for_probing() -> None:
    """Look on for as long as a source of power over the cable takes to probe for a device."""
    for _ in range(PROBING_MS // PROBING_STEP_MS):
        if look.quick(LIMIT_MV, False):
            _refuse_what(voltages(LIMIT_MV, False))
        pins.release()
        time.sleep_ms(PROBING_STEP_MS)
    pins.release()


def pass_windings(seen: "list[int | None]") -> bool:
    """Where windings are seen, look for a source that probes; return whether there are any."""
    pairs = windings.windings(seen)
    if pairs:
        wait_for_probing()
    return bool(pairs)
