"""Damaged scans of the bench board by the thousand: its own answers, recorded once, hurt anew each time they are sent.

What is damaged is text, so one true scan serves for many damages; the tester's own code reads them all.
"""

import binascii
import random
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import serial

from tests.firmware_sim.bench_boards import bench_tables
from tests.firmware_sim.processes import Firmware
from wiremap.errors import TesterError
from wiremap.tester.answers import Answer
from wiremap.tester.line import Line

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer

ASKED = (
    ("MEASure:ARRay:RESistance?", ()),
    ("MEASure:ARRay:RESistance:LOW?", ()),
    ("MEASure:ARRay:CAPacitance?", ("PAIR", 8)),
    ("MEASure:ARRay:CAPacitance?", ("SINGle", 8)),
    ("MEASure:ARRay:CAPacitance?", ("DOUBle", 8)),
)
TWICE = 0.1  # of the answers that are hurt, those that are hurt again when they are asked for once more
TIMEOUT_S = 60.0  # never waited for: the port has all there is at once


def sealed(tag: str, fields: list[str]) -> bytes:
    """Return an answer line as the README says it."""
    content = ",".join([tag, *fields])
    return f"{content},#H{binascii.crc32(content.encode()):08X}\n".encode()


def recorded(board: dict[str, Any], **cable: Any) -> list[list[str]]:
    """Return status and fields of all that is asked, as a bench board answers."""
    with tempfile.TemporaryDirectory() as folder, Firmware(Path(folder), bench_tables(board, **cable)) as firmware:
        return [firmware.measure(header, *parameters) for header, parameters in ASKED]


def _flip(line: bytes, draw: random.Random, _: bytes) -> bytes:
    at = draw.randrange(len(line))
    return line[:at] + bytes((line[at] ^ 1 << draw.randrange(8),)) + line[at + 1 :]


def _lose(line: bytes, draw: random.Random, _: bytes) -> bytes:
    at = draw.randrange(len(line))
    return line[:at] + line[at + draw.choice((1, 1, 2, 5, 40)) :]


def _burst(line: bytes, draw: random.Random, _: bytes) -> bytes:
    at, long = draw.randrange(len(line)), draw.randint(2, 8)
    return line[:at] + draw.randbytes(long) + line[at + long :]


def _add(line: bytes, draw: random.Random, _: bytes) -> bytes:
    at = draw.randrange(len(line))
    return line[:at] + draw.choice((b"0", b"9", b",", b"-", draw.randbytes(1))) + line[at:]


def _exchange(line: bytes, draw: random.Random, _: bytes) -> bytes:
    """Exchange two fields, as a program would that loses its place."""
    fields = line.split(b",")
    a, b = (draw.randrange(1, len(fields) - 1) for _ in range(2))
    fields[a], fields[b] = fields[b], fields[a]
    return b",".join(fields)


def _cut(line: bytes, draw: random.Random, _: bytes) -> bytes:
    return line[: draw.randrange(len(line))]


def _splice(line: bytes, draw: random.Random, other: bytes) -> bytes:
    """Begin as one answer and go on as another, which has a true seal of its own."""
    return line[: draw.randrange(len(line))] + other[draw.randrange(len(other)) :]


def _stale(line: bytes, draw: random.Random, other: bytes) -> bytes:
    """Come whole, behind the end of an earlier answer or the whole of one."""
    return other[draw.choice((0, draw.randrange(len(other)))) :] + line


DAMAGES: tuple[Callable[[bytes, random.Random, bytes], bytes], ...] = (
    _flip,
    _lose,
    _burst,
    _add,
    _exchange,
    _cut,
    _splice,
    _stale,
)


class Replay(serial.Serial):
    """A port at whose other end the recorded answers are given, hurt as it is drawn; what is not there never comes."""

    def __init__(self, answers: dict[str, list[str]], draw: random.Random) -> None:
        super().__init__()
        self._answers = answers
        self._draw = draw
        self._waiting = b""
        self._earlier = b"\n"
        self.due = False  # the next answer is to be hurt
        self.hurt = 0

    def write(self, data: "ReadableBuffer", /) -> int:
        """Take a question and have its answer ready."""
        question = bytes(data)
        text = question.decode().strip()
        header, _, parameters = text.partition(" ")
        tag, *rest = [part for part in parameters.split(",") if not part.startswith("#H")]
        if not tag:
            self._waiting += b'0,"No error"\n'
            return len(question)
        line = sealed(tag, self._answers[",".join([header, *rest])])
        if self.due:
            self.hurt += 1
            self.due = self._draw.random() < TWICE
            self._waiting += self._draw.choice(DAMAGES)(line, self._draw, self._earlier)
        else:
            self._waiting += line
        self._earlier = line
        return len(question)

    def read(self, size: int = 1, /) -> bytes:
        """Return what is there."""
        given, self._waiting = self._waiting[:size], self._waiting[size:]
        return given


def damaged_scans(seed: int, count: int) -> str:
    """Read count scans, an answer of each hurt: what is taken is the true one to the letter, all else is reported."""
    draw = random.Random(seed)
    board = {"parts": draw.randrange(1, 1 << 30), "corner": 1, "leak_na": 100}
    fault = [{"kind": "leak", "conductors": ["orange", "green"], "ohm": 200_000.0, "end": "far"}]
    true = recorded(board, fault=fault, seed=draw.randrange(1000))
    answers = {",".join([header, *map(str, rest)]): fields for (header, rest), fields in zip(ASKED, true, strict=True)}
    port = Replay(answers, draw)
    line = Line(port, "a recorded board", first_tag=1)
    lost = 0
    for _ in range(count):
        hurt = draw.randrange(len(ASKED))
        for number, (header, rest) in enumerate(ASKED):
            port.due = number == hurt
            try:
                taken = line.ask(header, *rest, parse=_as_it_is, timeout_s=TIMEOUT_S)
            except TesterError:
                lost += 1
                continue
            assert taken == true[number], (header, taken)
    assert port.hurt >= count
    # Two in a row are reported: a tenth of them, and what went with a lost end of line.
    assert lost <= 5 + count // 5
    return f"{count} damaged scans, {port.hurt} answers hurt, {lost} reported lost, none wrong"


def _as_it_is(answer: Answer) -> list[str]:
    return [answer.status, *answer.fields]
