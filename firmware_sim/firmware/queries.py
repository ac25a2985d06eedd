"""The measurement queries: each takes its parameters as texts and returns the fields of its answer."""

import answer
import capacitance
import echo
import guard
import pins
import safety
import scan
import scpi
import step
import trust
import watch
from watch import go_on as go_on

MODEL = "BENCH-18"
FEATURES = ("RES", "LOW", "CAP", "GROUP", "ECHO", "TRACE", "FOREIGN", "WATCH")
MOST_REPEATS = 256
REACHED_MILLIOHM = 10_000_000  # a charge reaches through this: what is so joined is one net to capacitance
SHOWN_MV = 50


class Scanned:
    """What the last scan saw: triangles in milliohm, None = open (full) or not joined (low)."""

    def __init__(self, full: "list[int | None]", low: "list[int | None]", equipment: bool) -> None:
        self.full = full
        self.low = low
        self.equipment = equipment


_last: "list[Scanned]" = []


def forget() -> None:
    """Trust nothing seen so far, and end the watch."""
    watch.watching.stop()
    trust.forget()
    _last[:] = []


def busy() -> bool:
    """Return whether something goes on between messages."""
    return watch.watching.running


def resolution(_given: "list[str]") -> "list[str]":
    """Say how finely a conductor's resistance is seen, milliohm."""
    return ["%d" % scan.STEP_MILLIOHM]


def resistance(_given: "list[str]") -> "list[str]":
    """Scan every two contacts; equipment is not driven beyond the probe."""
    return _triangle(_scan().full, answer.INFINITY)


def low_level(_given: "list[str]") -> "list[str]":
    """Give what the last scan saw at low level, before more went through; scan when there was none."""
    seen = _last[0] if _last else _scan()
    return _triangle(seen.low, answer.NOT_MEASURED)


def _scan() -> Scanned:
    _last[:] = []
    guard.pass_all()
    low = scan.low_level()
    seen = scan.probe()
    equipment = guard.pass_windings(seen)
    scanned = Scanned(seen if equipment else scan.full(seen), low, equipment)
    _last.append(scanned)
    safety.bring_down()
    return scanned


def _triangle(values: "list[int | None]", missing: str) -> "list[str]":
    return ["%d" % pins.CONTACTS] + [missing if value is None else "%d" % value for value in values]


def _ready() -> bool:
    """Pass the guard for a measurement that needs a scan; return whether there is a cable, not equipment."""
    if not _last:
        return not _scan().equipment
    guard.pass_quickly()
    return not _last[0].equipment


def capacitances(given: "list[str]") -> "list[str]":
    """Measure capacitance: PAIR, SINGLE or DOUBLE."""
    form = given[0].upper()
    if form not in ("PAIR", "SING", "SINGLE", "DOUB", "DOUBLE"):
        raise scpi.ScpiError(scpi.PARAMETER_VALUE, given[0])
    repeats = scpi.integer(given[1], 1, MOST_REPEATS) if len(given) > 1 else 8
    size = pins.CONTACTS
    count = size if form.startswith("SING") else size * (size - 1) // 2
    deviation = answer.NOT_MEASURED
    values: "list[int | None]" = [None] * count
    if _ready():
        joined = _joined()
        if form == "PAIR":
            found = capacitance.pairs(joined, repeats)
        elif count == size:
            found = capacitance.singles(joined, repeats)
        else:
            found = capacitance.doubles(joined, repeats)
        safety.bring_down()
        values = found.values
        deviation = "%d" % found.deviation_ff()
    shown = [answer.NOT_MEASURED if v is None else answer.INFINITY if v == -1 else "%d" % v for v in values]
    return ["%d" % size, "0", "%d" % repeats, "%d" % capacitance.PIN_FF, deviation] + shown


def _joined() -> "list[list[bool]]":
    """Return which contacts the last scan saw joined, below 10 kohm."""
    size = pins.CONTACTS
    rows = [[False] * size for _ in range(size)]
    at = 0
    for a in range(size):
        for b in range(a + 1, size):
            value = _last[0].full[at]
            rows[a][b] = rows[b][a] = value is not None and value < REACHED_MILLIOHM
            at += 1
    return rows


def _contact(text: str) -> int:
    return scpi.integer(text, 1, pins.CONTACTS) - 1


def _two(given: "list[str]") -> "tuple[int, int]":
    a, b = _contact(given[0]), _contact(given[1])
    if a == b:
        raise scpi.ScpiError(scpi.OUT_OF_RANGE, given[1])
    return a, b


def echo_times(given: "list[str]") -> "list[str]":
    """Time the first echo between two contacts."""
    a, b = _two(given)
    drive = scpi.integer(given[2], 1, 1_000_000) if len(given) > 2 else 50
    if drive not in (50, 330, 100_000):
        raise scpi.ScpiError(scpi.OUT_OF_RANGE, given[2])
    repeats = scpi.integer(given[3], 1, MOST_REPEATS) if len(given) > 3 else 64
    if not _ready():
        return ["%d" % step.TICK_PS, "%d" % step.UP_LAUNCH_PS, "%d" % drive, "0", "0"]
    found = echo.measure(a, b, drive, repeats)
    safety.bring_down()
    fields = ["%d" % step.TICK_PS, "%d" % found.launch_ps, "%d" % found.drive, "%d" % found.polarity]
    fields.append("%d" % repeats)
    fields.extend([answer.INFINITY if ticks < 0 else "%d" % ticks for ticks in found.ticks])
    fields.extend(["%d" % delay for delay in found.delays])
    return fields


def reflection(given: "list[str]") -> "list[str]":
    """Sample the reflection between two contacts of a near pair."""
    a, b = _two(given)
    samples: "list[int]" = []
    if _ready():
        samples = echo.trace(a, b)
        safety.bring_down()
    start = ["%d" % echo.trace_start_ps(), "%d" % (step.CYCLE_PS // echo.TRACE_PHASES), "%d" % len(samples)]
    return start + answer.joined(samples)


def voltage(_given: "list[str]") -> "list[str]":
    """Look at the voltages that are there; drive nothing."""
    found = guard.voltages(SHOWN_MV)
    fields = ["%d" % len(found)]
    for contact, millivolts, kind in found:
        fields.extend(("%d" % (contact + 1), "%d" % millivolts, kind))
    return fields


# Each query: what parameters it has beside the tag, least and most, and whether it drives.
COMMANDS = (
    ("TESTer:RESolution?", resolution, 0, 0, False),
    ("MEASure:ARRay:RESistance?", resistance, 0, 0, True),
    ("MEASure:ARRay:RESistance:LOW?", low_level, 0, 0, True),
    ("MEASure:ARRay:CAPacitance?", capacitances, 1, 2, True),
    ("MEASure:VOLTage?", voltage, 0, 0, True),
    ("MEASure:ECHO?", echo_times, 2, 4, True),
    ("MEASure:TRACe?", reflection, 2, 2, True),
) + watch.QUERIES
