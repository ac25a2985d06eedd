"""Every command of the tester and what it answers."""

import answer
import capacitance
import echo
import guard
import pins
import safety
import scan
import scpi
import selftest
import step
import watch

IDENTITY = ("WIREMAP", "BENCH-18")
VERSION = "1.0"
FEATURES = ("RES", "LOW", "CAP", "GROUP", "ECHO", "TRACE", "FOREIGN", "WATCH")

LARGEST_TAG = 999_999
MOST_REPEATS = 256
JOINED_MILLIOHM = 10_000_000
SHOWN_MV = 50

_last: "dict[str, list]" = {}
watching = watch.Watch()


def parser(status: scpi.Status) -> scpi.Parser:
    """Return the parser that knows them all."""
    known = scpi.Parser(status)
    _add_common(known, status)
    known.add("SYSTem:ERRor[:NEXT]?", lambda _given: status.next_error(), 0, 0)
    known.add("SYSTem:VERSion?", lambda _given: "1999.0", 0, 0)
    for pattern, measure, least, most, drives in (
        ("TESTer:FEATures?", features, 0, 0, False),
        ("TESTer:CONTacts?", contacts, 0, 0, False),
        ("TESTer:RESolution?", resolution, 0, 0, False),
        ("MEASure:ARRay:RESistance?", resistance, 0, 0, True),
        ("MEASure:ARRay:RESistance:LOW?", low_level, 0, 0, True),
        ("MEASure:ARRay:CAPacitance?", capacitances, 1, 2, True),
        ("MEASure:VOLTage?", voltage, 0, 0, True),
        ("MEASure:ECHO?", echo_times, 2, 4, True),
        ("MEASure:TRACe?", reflection, 2, 2, True),
        ("WATCh:STARt?", watch_start, 0, 0, True),
        ("WATCh:STOP?", watch_stop, 0, 0, False),
        ("FETCh:EVENt?", events, 1, 1, False),
    ):
        known.add(pattern, _tagged(measure, status, drives), 1 + least, 1 + most)
    return known


def _add_common(known: scpi.Parser, status: scpi.Status) -> None:
    def clear(_given) -> None:
        status.clear()

    def reset(_given) -> None:
        watching.stop()
        guard.forget()
        _last.clear()

    def enable_events(given) -> None:
        status.event_enable = scpi.integer(given[0], 0, 255)

    def enable_service(given) -> None:
        status.service_enable = scpi.integer(given[0], 0, 255)

    def complete(_given) -> None:
        status.events |= scpi.OPERATION_COMPLETE

    known.add("*IDN?", lambda _given: "%s,%s,%s,%s" % (IDENTITY[0], IDENTITY[1], serial(), VERSION), 0, 0)
    known.add("*CLS", clear, 0, 0)
    known.add("*RST", reset, 0, 0)
    known.add("*ESR?", lambda _given: "%d" % status.take_events(), 0, 0)
    known.add("*ESE", enable_events, 1, 1)
    known.add("*ESE?", lambda _given: "%d" % status.event_enable, 0, 0)
    known.add("*SRE", enable_service, 1, 1)
    known.add("*SRE?", lambda _given: "%d" % status.service_enable, 0, 0)
    known.add("*STB?", lambda _given: "%d" % status.byte(), 0, 0)
    known.add("*OPC", complete, 0, 0)
    known.add("*OPC?", lambda _given: "1", 0, 0)
    known.add("*WAI", lambda _given: None, 0, 0)
    known.add("*TST?", lambda _given: "%d" % selftest.run(), 0, 0)


def serial() -> str:
    """Return the chip's own number, hexadecimal."""
    from machine import unique_id

    return "".join("%02X" % part for part in unique_id())


def _tagged(measure, status: scpi.Status, drives: bool):
    """Return a command that checks the tag, measures, and seals the answer or the refusal."""

    def run(given) -> str:
        tag = scpi.integer(given[0], 1, LARGEST_TAG)
        if drives and watching.running:
            return answer.sealed(tag, "BUSY", [])
        try:
            fields = measure(given[1:])
        except answer.Refused as refused:
            return answer.sealed(tag, refused.status, refused.fields)
        except scpi.ScpiError as error:
            if error.number != scpi.OUT_OF_RANGE:
                raise
            status.add(error.number, error.found)
            return answer.sealed(tag, "RANGE", [])
        finally:
            if not watching.running:
                safety.let_go()
        return answer.sealed(tag, "OK", fields)

    return run


def features(_given) -> "list[str]":
    """Say what this tester can do."""
    return list(FEATURES)


def contacts(_given) -> "list[str]":
    """Name the contacts of both sockets."""
    names = ['"%s"' % name for name in pins.NEAR + pins.FAR]
    return ["%d" % len(pins.NEAR), "%d" % len(pins.FAR)] + names


def resolution(_given) -> "list[str]":
    """Say how finely a conductor's resistance is seen, milliohm."""
    return ["%d" % scan.STEP_MILLIOHM]


def resistance(_given) -> "list[str]":
    """Scan every two contacts; equipment is not driven beyond the probe."""
    _scan()
    return _triangle(_last["full"], answer.OPEN)


def low_level(_given) -> "list[str]":
    """Give what the last scan saw at low level, before more went through; scan when there was none."""
    if "low" not in _last:
        _scan()
    return _triangle(_last["low"], answer.NOT_MEASURED)


def _scan() -> None:
    _last.clear()
    guard.pass_all()
    low = scan.low_level()
    seen = scan.probe()
    equipment = guard.pass_windings(seen)
    _last["full"] = seen if equipment else scan.full(seen)
    _last["low"] = low
    _last["equipment"] = equipment


def _triangle(values, missing: str) -> "list[str]":
    return ["%d" % pins.CONTACTS] + [missing if value is None else "%d" % value for value in values]


def _ready() -> bool:
    """Pass the guard for a measurement that needs a scan; return whether there is a cable, not equipment."""
    if "full" in _last:
        guard.pass_quickly()
    else:
        _scan()
    return not _last["equipment"]


def capacitances(given) -> "list[str]":
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
        values = found.values
        deviation = "%d" % found.deviation_ff()
    shown = [answer.NOT_MEASURED if v is None else answer.OPEN if v == -1 else "%d" % v for v in values]
    return ["%d" % size, "0", "%d" % repeats, "%d" % capacitance.PIN_FF, deviation] + shown


def _joined() -> "list[list[bool]]":
    """Return which contacts the last scan saw joined, below 10 kohm."""
    size = pins.CONTACTS
    rows = [[False] * size for _ in range(size)]
    at = 0
    for a in range(size):
        for b in range(a + 1, size):
            value = _last["full"][at]
            rows[a][b] = rows[b][a] = value is not None and value < JOINED_MILLIOHM
            at += 1
    return rows


def _contact(text: str) -> int:
    return scpi.integer(text, 1, pins.CONTACTS) - 1


def _two(given) -> "tuple[int, int]":
    a, b = _contact(given[0]), _contact(given[1])
    if a == b:
        raise scpi.ScpiError(scpi.OUT_OF_RANGE, given[1])
    return a, b


def echo_times(given) -> "list[str]":
    """Time the first echo between two contacts."""
    a, b = _two(given)
    drive = scpi.integer(given[2], 1, 1_000_000) if len(given) > 2 else 50
    if drive not in (50, 330, 100_000):
        raise scpi.ScpiError(scpi.OUT_OF_RANGE, given[2])
    repeats = scpi.integer(given[3], 1, MOST_REPEATS) if len(given) > 3 else 64
    if not _ready():
        return ["%d" % step.TICK_PS, "%d" % step.UP_LAUNCH_PS, "%d" % drive, "0", "0"]
    found = echo.measure(a, b, drive, repeats)
    fields = ["%d" % step.TICK_PS, "%d" % found.launch_ps, "%d" % found.drive, "%d" % found.polarity]
    fields.append("%d" % repeats)
    fields.extend([answer.OPEN if ticks < 0 else "%d" % ticks for ticks in found.ticks])
    fields.extend(["%d" % delay for delay in found.delays])
    return fields


def reflection(given) -> "list[str]":
    """Sample the reflection between two contacts of a near pair."""
    a, b = _two(given)
    samples = echo.trace(a, b) if _ready() else []
    start = ["%d" % echo.trace_start_ps(), "%d" % (step.CYCLE_PS // echo.TRACE_PHASES), "%d" % len(samples)]
    return start + ["%d" % value for value in samples]


def voltage(_given) -> "list[str]":
    """Look at the voltages that are there; drive nothing."""
    found = guard.voltages(SHOWN_MV)
    fields = ["%d" % len(found)]
    for contact, millivolts, kind in found:
        fields.extend(("%d" % (contact + 1), "%d" % millivolts, kind))
    return fields


def watch_start(_given) -> "list[str]":
    """Begin to watch."""
    return ["%d" % pins.CONTACTS] + ["%d" % row for row in watching.start()]


def watch_stop(_given) -> "list[str]":
    """Stop watching; the events stay to be fetched."""
    watching.stop()
    return []


def events(given) -> "list[str]":
    """Give the events after the last one that the host has seen."""
    return watching.fetch(scpi.integer(given[0], 0, 1 << 30))
