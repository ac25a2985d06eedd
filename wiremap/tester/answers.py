"""Bytes of the line <-> questions and answers; pure. Every failure is a FrameError with the bytes as they came.

A measurement answer is `<tag>,<STATUS>,<fields>,#H<CRC-32>`; the CRC-32 (ISO-HDLC) is over every byte before
the comma that precedes `#H`. Contacts are numbered from 1 in matrix order on the line, from 0 in what is
returned here. Values: whole numbers; "open" for 9.9E37 (above the range, no echo); None for 9.91E37 (not measured).
"""

import re
from typing import Literal, cast, get_args
from zlib import crc32

from msgspec import Struct

from wiremap.errors import TesterError

Status = Literal["OK", "FOREIGN", "EQUIPMENT", "SELFTEST", "BUSY", "RANGE"]
VoltageKind = Literal["DC", "AC", "PROBE", "LINK", "CELL"]
Value = int | Literal["open"] | None

STATUSES: tuple[Status, ...] = get_args(Status)
VOLTAGE_KINDS: tuple[VoltageKind, ...] = get_args(VoltageKind)
OPEN, NOT_MEASURED = "9.9E37", "9.91E37"
LARGEST_TAG = 999_999
MOST_CONTACTS = 64
MOST_VALUES = 100_000
LONGEST_WATCH_US = 10**13  # four months

FRAME = re.compile(rb"(([1-9][0-9]{0,5}),([A-Z]+)(?:,([ -~]+))?),#H([0-9A-F]{8})")
LIKE_A_FRAME = re.compile(rb"[0-9]+,|.*,#H", re.DOTALL)
INTEGER = re.compile(r"0|-?[1-9][0-9]{0,14}")
HEXADECIMAL = re.compile(r"#H[0-9A-F]{1,16}")
QUOTED_NAME = re.compile(r'"([A-Za-z0-9]{1,8})"')
FEATURE = re.compile(r"[A-Z]{2,12}")
ERROR_ANSWER = re.compile(rb'([+-]?[0-9]{1,5}),"([ -~]*)"')


class FrameError(TesterError):
    """A line that is not the answer it should be; `raw` holds its bytes."""

    def __init__(
        self,
        what: str,
        hint: str = "Check both plugs of the tester's cable, keep it away from motors and radios, and try again.",
        raw: bytes = b"",
    ) -> None:
        super().__init__(what, hint)
        self.raw = raw


class Answer(Struct, frozen=True):
    """One sound answer: its tag, its status, the fields between status and check value, and the line as it came."""

    tag: int
    status: Status
    fields: tuple[str, ...]
    raw: bytes


class Capacitances(Struct, frozen=True):
    """Answer to a capacitance query, femtofarads; `values` is a triangle (row by row) or one value per contact."""

    contacts: int
    screen_tied: bool
    repeats: int
    pin_ff: int | None
    sd_ff: int | None
    values: tuple[int | None, ...]


class Voltage(Struct, frozen=True):
    """A voltage found at a contact (numbered from 0)."""

    contact: int
    millivolts: int
    kind: VoltageKind


class EchoTimes(Struct, frozen=True):
    """Answer to an echo query; ticks: None = no echo in range; dither_ps: None = none applied."""

    tick_ps: int
    launch_ps: int
    drive_ohm: int
    polarity: int
    ticks: tuple[int | None, ...]
    dither_ps: tuple[int, ...] | None


class TraceSamples(Struct, frozen=True):
    """Answer to a trace query: microvolts[k] at t0_ps + k dt_ps."""

    t0_ps: int
    dt_ps: int
    microvolts: tuple[int, ...]


class LatchedEvent(Struct, frozen=True):
    """One change seen while watching; a and b numbered from 0, for_us None = the new state still lasts."""

    number: int
    a: int
    b: int
    change: Literal["OPEN", "JOIN"]
    at_us: int
    for_us: int | None


class LatchedEvents(Struct, frozen=True):
    """Answer to an event query: newest number there is, how many were lost, and those not yet acknowledged.

    blind_us: time since the start in which contacts were not read often enough; 0 where the tester does not say.
    """

    newest: int
    lost: int
    events: tuple[LatchedEvent, ...]
    blind_us: int


def question(header: str, *arguments: int | str) -> bytes:
    """Return the bytes that ask; ASCII only, since bytes 0x01-0x05 would stop the firmware."""
    line = header + (" " + ",".join(map(str, arguments)) if arguments else "")
    if not line.isascii() or not line.isprintable():
        raise ValueError(f"not a line of printable ASCII: {line!r}")
    return line.encode("ascii") + b"\n"


def tagged_question(header: str, tag: int, *arguments: int | str) -> bytes:
    """Return the bytes of a measurement query, which end in the CRC-32 of all before, as its answer does.

    A question whose contacts arrived changed would else be answered soundly, of other contacts.
    """
    bare = question(header, tag, *arguments)[:-1]
    return bare + b",#H%08X\n" % crc32(bare)


def looks_like_an_answer(line: bytes) -> bool:
    """Whether a line is a measurement answer, perhaps a damaged one, rather than talk of the firmware."""
    return LIKE_A_FRAME.match(line) is not None


def decode_answer(line: bytes) -> Answer:
    """Return the answer in a line (without its LF; one CR at its end is accepted)."""
    match = FRAME.fullmatch(line.removesuffix(b"\r"))
    if match is None:
        raise FrameError(f"the tester's answer is damaged: {_shown(line)}", raw=line)
    if crc32(match[1]) != int(match[5], 16):
        raise FrameError(f"the tester's answer has a wrong check value: {_shown(line)}", raw=line)
    status = match[3].decode("ascii")
    if status not in STATUSES:
        raise FrameError(f"the tester's answer has the unknown status {status}", raw=line)
    fields = tuple(match[4].decode("ascii").split(",")) if match[4] is not None else ()
    return Answer(int(match[2]), status, fields, line)


def identification(line: bytes) -> tuple[str, str, str, str]:
    """Return maker, model, serial and firmware version from an answer to *IDN? (IEEE 488.2)."""
    parts = line.removesuffix(b"\r").split(b",")
    if looks_like_an_answer(line) or len(parts) != 4 or not all(re.fullmatch(rb"[ -~]{1,72}", part) for part in parts):
        raise FrameError(f"not an identification: {_shown(line)}", raw=line)
    maker, model, serial, firmware = (part.decode("ascii").strip() for part in parts)
    return maker, model, serial, firmware


def error_report(line: bytes) -> tuple[int, str]:
    """Return number and text from an answer to SYSTem:ERRor? (SCPI-1999)."""
    match = ERROR_ANSWER.fullmatch(line.removesuffix(b"\r"))
    if match is None:
        raise FrameError(f"not an error report: {_shown(line)}", raw=line)
    return int(match[1]), match[2].decode("ascii")


def features(answer: Answer) -> tuple[str, ...]:
    """Return the words for what the tester can do."""
    for word in answer.fields:
        if not FEATURE.fullmatch(word):
            raise _misfit(answer, f"{word!r} is no feature word")
    return answer.fields


def contacts(answer: Answer) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the names of the near and of the far socket's contacts."""
    fields = _Fields(answer)
    near = fields.integer(1, MOST_CONTACTS)
    far = fields.integer(0, MOST_CONTACTS - near)
    names = tuple(fields.name() for _ in range(near + far))
    fields.finish()
    if len(set(names[:near])) != near or len(set(names[near:])) != far:
        raise _misfit(answer, "a contact's name stands twice at one end")
    return names[:near], names[near:]


def fineness(answer: Answer) -> tuple[float, float | None, int | None]:
    """Return how finely it sees a conductor's resistance, its deviation at low level, and how far it sees voltages.

    Ohms, ohms, millivolts; None = not said.
    """
    fields = _Fields(answer)
    milliohm = fields.integer(1, 10**9)
    low_level = fields.integer(1, 10**9) / 1000 if fields.left else None
    highest_mv = fields.integer(1, 10**6) if fields.left else None
    fields.finish()
    return milliohm / 1000, low_level, highest_mv


def triangle(answer: Answer) -> tuple[int, tuple[Value, ...]]:
    """Return the number of contacts and the upper triangle, row by row, of a resistance scan, milliohm."""
    fields = _Fields(answer)
    count = fields.integer(1, MOST_CONTACTS)
    values = tuple(fields.value(low=0) for _ in range(count * (count - 1) // 2))
    fields.finish()
    return count, values


def joined_triangle(answer: Answer) -> tuple[int, tuple[Literal["joined", "open"] | None, ...]]:
    """Return the number of contacts and the upper triangle, row by row, of a scan that tells joined from open."""
    fields = _Fields(answer)
    count = fields.integer(1, MOST_CONTACTS)
    values = tuple(fields.joint() for _ in range(count * (count - 1) // 2))
    fields.finish()
    return count, values


def capacitances(answer: Answer, form: Literal["PAIR", "SINGle", "DOUBle"]) -> Capacitances:
    """Return a capacitance scan; what is above the range counts as not measured."""
    fields = _Fields(answer)
    count = fields.integer(1, MOST_CONTACTS)
    tied = fields.integer(0, 1)
    repeats = fields.integer(1, 10_000)
    pin, deviation = fields.value(low=0), fields.value(low=0)
    size = count if form == "SINGle" else count * (count - 1) // 2
    values = tuple(_measured(fields.value()) for _ in range(size))
    fields.finish()
    return Capacitances(count, tied == 1, repeats, _measured(pin), _measured(deviation), values)


def voltages(answer: Answer) -> tuple[Voltage, ...]:
    """Return the voltages found, none driven by the tester."""
    fields = _Fields(answer)
    count = fields.integer(0, MOST_CONTACTS)
    found = tuple(
        Voltage(fields.contact(), fields.integer(-1_000_000, 1_000_000), cast(VoltageKind, fields.word(VOLTAGE_KINDS)))
        for _ in range(count)
    )
    fields.finish()
    return found


def echo(answer: Answer) -> EchoTimes:
    """Return the times of an echo."""
    fields = _Fields(answer)
    tick, launch, drive = fields.integer(1), fields.integer(), fields.integer(1)
    polarity = fields.integer(-1, 1)
    count = fields.integer(0, MOST_VALUES)
    ticks = tuple(_measured(fields.value(low=0)) for _ in range(count))
    dither = tuple(fields.integer() for _ in range(count)) if fields.left else None
    fields.finish()
    return EchoTimes(tick, launch, drive, polarity, ticks, dither)


def trace(answer: Answer) -> TraceSamples:
    """Return a sampled reflection."""
    fields = _Fields(answer)
    t0, dt = fields.integer(), fields.integer(1)
    count = fields.integer(0, MOST_VALUES)
    samples = tuple(fields.integer() for _ in range(count))
    fields.finish()
    return TraceSamples(t0, dt, samples)


def joined_rows(answer: Answer) -> tuple[tuple[bool, ...], ...]:
    """Return which contacts were joined when the watch began: [i][j], bit j of row i on the line."""
    fields = _Fields(answer)
    count = fields.integer(1, MOST_CONTACTS)
    rows = tuple(fields.bits(count) for _ in range(count))
    fields.finish()
    return tuple(tuple(bool(row >> j & 1) for j in range(count)) for row in rows)


def latched_events(answer: Answer) -> LatchedEvents:
    """Return the events that were not acknowledged yet, in the order of their numbers."""
    fields = _Fields(answer)
    newest, lost, count = fields.integer(0), fields.integer(0), fields.integer(0, MOST_VALUES)
    events = tuple(
        LatchedEvent(
            fields.integer(1),
            fields.contact(),
            fields.contact(),
            cast(Literal["OPEN", "JOIN"], fields.word(("OPEN", "JOIN"))),
            fields.integer(0, LONGEST_WATCH_US),
            _measured(fields.value(low=0, high=LONGEST_WATCH_US)),
        )
        for _ in range(count)
    )
    blind_us = fields.integer(0, LONGEST_WATCH_US) if fields.left else 0
    fields.finish()
    numbers = [event.number for event in events]
    if numbers != sorted(set(numbers)) or (numbers and numbers[-1] > newest):
        raise _misfit(answer, "the events' numbers are out of order")
    return LatchedEvents(newest, lost, events, blind_us)


def failed_self_test(answer: Answer) -> tuple[int, tuple[int, ...]]:
    """Return the bit mask of a failed self-test, and the contacts at which it failed, numbered from 0; () = none."""
    fields = _Fields(answer)
    bits = fields.integer(0)
    at = tuple(fields.contact() for _ in range(fields.left))
    return bits, at


def _measured(value: Value) -> int | None:
    return None if value == "open" else value


def _shown(line: bytes) -> str:
    text = line[:60].decode("ascii", "backslashreplace")
    return repr(text) + (f" and {len(line) - 60} bytes more" if len(line) > 60 else "")


def _misfit(answer: Answer, why: str) -> FrameError:
    return FrameError(f"the tester's answer makes no sense: {why}, in {_shown(answer.raw)}", raw=answer.raw)


class _Fields:
    """The fields of one answer, taken in order; what does not fit is a FrameError with the whole line."""

    def __init__(self, answer: Answer) -> None:
        self._answer = answer
        self._at = 0

    @property
    def left(self) -> int:
        return len(self._answer.fields) - self._at

    def _take(self) -> str:
        if not self.left:
            raise _misfit(self._answer, f"it ends after {self._at} fields")
        self._at += 1
        return self._answer.fields[self._at - 1]

    def integer(self, low: int = -(10**15), high: int = 10**15) -> int:
        text = self._take()
        if not INTEGER.fullmatch(text) or not low <= int(text) <= high:
            raise _misfit(self._answer, f"field {self._at} is {text}")
        return int(text)

    def value(self, low: int = -(10**15), high: int = 10**15) -> Value:
        if self.left and self._answer.fields[self._at] in (OPEN, NOT_MEASURED):
            return "open" if self._take() == OPEN else None
        return self.integer(low, high)

    def joint(self) -> Literal["joined", "open"] | None:
        text = self.word(("0", "1", NOT_MEASURED))
        return None if text == NOT_MEASURED else "joined" if text == "1" else "open"

    def contact(self) -> int:
        return self.integer(1, MOST_CONTACTS) - 1

    def word(self, choices: tuple[str, ...]) -> str:
        text = self._take()
        if text not in choices:
            raise _misfit(self._answer, f"field {self._at} is {text}")
        return text

    def name(self) -> str:
        text = self._take()
        match = QUOTED_NAME.fullmatch(text)
        if match is None:
            raise _misfit(self._answer, f"field {self._at} is {text}")
        return match[1]

    def bits(self, count: int) -> int:
        text = self._take()
        if HEXADECIMAL.fullmatch(text):
            value = int(text[2:], 16)
        elif INTEGER.fullmatch(text):
            value = int(text)
        else:
            value = -1
        if not 0 <= value < 1 << count:
            raise _misfit(self._answer, f"field {self._at} is {text}")
        return value

    def finish(self) -> None:
        if self.left:
            raise _misfit(self._answer, f"{self.left} fields are left over")
