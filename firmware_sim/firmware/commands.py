"""Every command of the tester and what it answers."""

import answer
import machine
import pins
import queries
import safety
import scpi
import selftest

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Callable

    Query = Callable[[list[str]], list[str]]

MAKER = "WIREMAP"
VERSION = "1.0"
LARGEST_TAG = 999_999


def _features(_given: "list[str]") -> "list[str]":
    """Say what this tester can do; a machine that is none adds a word of its own."""
    return list(queries.FEATURES) + list(getattr(machine, "FEATURES", ()))


def _contacts(_given: "list[str]") -> "list[str]":
    """Name the contacts of both sockets."""
    names = ['"%s"' % name for name in pins.NEAR + pins.FAR]
    return ["%d" % len(pins.NEAR), "%d" % len(pins.FAR)] + names


# Each query: what parameters it has beside the tag, least and most, and whether it drives. Every board is asked these.
TOLD = (("TESTer:FEATures?", _features, 0, 0, False), ("TESTer:CONTacts?", _contacts, 0, 0, False))


def parser(status: scpi.Status) -> scpi.Parser:
    """Return the parser that knows them all."""
    known = scpi.Parser(status)
    _add_common(known, status)
    known.add("SYSTem:ERRor[:NEXT]?", lambda _given: status.next_error(), 0, 0)
    known.add("SYSTem:VERSion?", lambda _given: "1999.0", 0, 0)
    for pattern, measure, least, most, drives in TOLD + queries.COMMANDS:
        known.add(pattern, _tagged(measure, status, drives), 1 + least, 1 + most)
    return known


def _add_common(known: scpi.Parser, status: scpi.Status) -> None:
    def clear(_given: "list[str]") -> None:
        status.clear()

    def reset(_given: "list[str]") -> None:
        queries.forget()

    def enable_events(given: "list[str]") -> None:
        status.event_enable = scpi.integer(given[0], 0, 255)

    def enable_service(given: "list[str]") -> None:
        status.service_enable = scpi.integer(given[0], 0, 255)

    def self_test(_given: "list[str]") -> str:
        mask = selftest.run()
        if mask:
            status.add(scpi.SELF_TEST_FAILED, "%d" % mask)
        return "%d" % mask

    def complete(_given: "list[str]") -> None:
        status.events |= scpi.OPERATION_COMPLETE

    known.add("*IDN?", lambda _given: "%s,%s,%s,%s" % (MAKER, queries.MODEL, serial(), VERSION), 0, 0)
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
    known.add("*TST?", self_test, 0, 0)


def serial() -> str:
    """Return the chip's own number, hexadecimal."""
    return "".join("%02X" % part for part in machine.unique_id())


def _tagged(measure: "Query", status: scpi.Status, drives: bool) -> "Callable[[list[str]], str]":
    """Return a command that checks the tag, measures, and seals the answer or the refusal."""

    def run(given: "list[str]") -> str:
        tag = scpi.integer(given[0], 1, LARGEST_TAG)
        if drives and queries.busy():
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
            if not queries.busy():
                safety.let_go()
        return answer.sealed(tag, "OK", fields)

    return run
