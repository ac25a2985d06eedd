"""Every command of the tester and what it answers."""

import answer
import guard
import pins
import safety
import scan
import scpi
import selftest

IDENTITY = ("WIREMAP", "BENCH-18")
VERSION = "1.0"
FEATURES = ("RES", "LOW", "FOREIGN")

LARGEST_TAG = 999_999

_last: "dict[str, list]" = {}


def parser(status: scpi.Status) -> scpi.Parser:
    """Return the parser that knows them all."""
    known = scpi.Parser(status)
    _add_common(known, status)
    known.add("SYSTem:ERRor[:NEXT]?", lambda _given: status.next_error(), 0, 0)
    known.add("SYSTem:VERSion?", lambda _given: "1999.0", 0, 0)
    for pattern, measure, most in (
        ("TESTer:FEATures?", features, 0),
        ("TESTer:CONTacts?", contacts, 0),
        ("TESTer:RESolution?", resolution, 0),
        ("MEASure:ARRay:RESistance?", resistance, 0),
        ("MEASure:ARRay:RESistance:LOW?", low_level, 0),
        ("MEASure:VOLTage?", voltage, 0),
    ):
        known.add(pattern, _tagged(measure, status), 1, 1 + most + 1)
    return known


def _add_common(known: scpi.Parser, status: scpi.Status) -> None:
    def clear(_given) -> None:
        status.clear()

    def reset(_given) -> None:
        safety.let_go()
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


def _tagged(measure, status: scpi.Status):
    """Return a command that checks tag and checksum, measures, and seals the answer or the refusal."""

    def run(given) -> str:
        tag = scpi.integer(given[0], 1, LARGEST_TAG)
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
    """Scan every two contacts."""
    guard.pass_all()
    _last["low"] = scan.low_level()
    seen = scan.probe()
    found = scan.full(seen)
    return ["%d" % pins.CONTACTS] + [answer.OPEN if value is None else "%d" % value for value in found]


def low_level(given) -> "list[str]":
    """Give what the last scan saw at low level, before the full current went through; scan when there was none."""
    if "low" not in _last:
        resistance(given)
    return ["%d" % pins.CONTACTS] + [answer.NOT_MEASURED if value is None else "%d" % value for value in _last["low"]]


def voltage(_given) -> "list[str]":
    """Look at the voltages that are there; drive nothing."""
    found = guard.voltages(50)
    fields = ["%d" % len(found)]
    for contact, millivolts, kind in found:
        fields.extend(("%d" % (contact + 1), "%d" % millivolts, kind))
    return fields
