"""How long what was looked at is trusted, and the refusal that ends it."""

import time

import answer
import safety

TYPE_CHECKING = False
if TYPE_CHECKING:
    from _mpy_shed.time_mp import _TicksMs

FRESH_MS = 3000

_since: "list[_TicksMs]" = []  # when all looks were passed, empty after a surprise


def forget() -> None:
    """Trust nothing seen so far: the next measurement looks for a source that probes, too."""
    _since[:] = []


def begin() -> None:
    """From now on what was looked at is trusted."""
    _since[:] = [time.ticks_ms()]


def begun() -> bool:
    """Return whether all looks were passed since the last surprise, however long ago."""
    return bool(_since)


def is_fresh() -> bool:
    """Return whether all looks were passed a moment ago."""
    return bool(_since) and time.ticks_diff(time.ticks_ms(), _since[0]) <= FRESH_MS


def refuse(found: "list[tuple[int, int, str]]") -> None:
    """Let go of everything and refuse with (contact, millivolts, kind) for each voltage found."""
    safety.let_go()
    forget()
    fields = ["%d" % len(found)]
    for contact, millivolts, kind in found:
        fields.extend(("%d" % (contact + 1), "%d" % millivolts, kind))
    raise answer.Refused("FOREIGN", fields)
