"""The rule that no damaged answer passes, as a function that runs with any count."""

import random

import pytest

from tests.tester.peers import frame
from wiremap.tester.answers import FrameError, decode_answer

WORDS = ("OK", "FOREIGN", "EQUIPMENT", "SELFTEST", "BUSY", "RANGE")
FIELDS = ("0", "1", "18", "-25", "9.9E37", "9.91E37", "DC", "PROBE", '"8"', '"S"', "123456789")


def damaged_answers_are_refused(seed: int, count: int) -> str:
    """Damage random answers in every single byte, and in random bursts; each must be refused."""
    draw = random.Random(seed)
    singles = bursts = 0
    for _ in range(count):
        fields = [draw.choice(FIELDS) for _ in range(draw.randrange(0, 40))]
        line = frame(draw.randrange(1, 1_000_000), draw.choice(WORDS), *fields)[:-1] + draw.choice((b"", b"\r"))
        assert decode_answer(line).fields == tuple(fields)
        for place in range(len(line)):
            other = draw.choice([byte for byte in range(256) if byte != line[place]])
            _refused(line[:place] + bytes((other,)) + line[place + 1 :])
            singles += 1
        for _ in range(20):
            start = draw.randrange(len(line))
            length = draw.randrange(1, 5)
            burst = bytes(draw.randrange(256) for _ in range(len(line[start : start + length])))
            damaged = line[:start] + burst + line[start + length :]
            if damaged != line:
                _refused(damaged)
                bursts += 1
        cut = draw.randrange(len(line.rstrip(b"\r")))
        _refused(line[:cut])
    return f"{singles} single bytes and {bursts} bursts of up to 4 bytes in {count} answers, all refused"


def _refused(line: bytes) -> None:
    with pytest.raises(FrameError) as refused:
        decode_answer(line)
    assert refused.value.raw == line, "the error does not carry the bytes as they came"
