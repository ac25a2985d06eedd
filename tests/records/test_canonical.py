"""Canonical JSON: where the fast writer is believed, the library of RFC 8785 writes the same bytes."""

import json
import random
import struct
from collections.abc import Callable
from typing import Any

import msgspec
import pytest
import rfc8785

from tests.reading.mutated import full_reading
from tests.records.samples import content
from wiremap.errors import FileError
from wiremap.records.canonical import decode, written_fast

ODD = (0.0, -0.0, 1.0, 1e-6, 1e-7, 1.234e-6, 1e20, 1e21, 123456789012345680000.0, 1e16, 5e-324, 0.1 + 0.2, 1 / 3, 2**53)


def number(chance: random.Random) -> float:
    """Return a number: whole, of random bits, of few digits, or an odd one."""
    kind = chance.randrange(4)
    if kind == 0:
        return chance.randrange(-(2**53) + 1, 2**53)
    if kind == 1:
        return float(struct.unpack("d", chance.randbytes(8))[0])
    return round(chance.uniform(-1e3, 1e3), chance.randrange(9)) if kind == 2 else chance.choice(ODD)


def text(chance: random.Random) -> str:
    """Return a short text of letters that are escaped, sorted or written in ways of their own."""
    if chance.random() < 0.3:
        return "".join(chance.choice("019e-+.:,[t") for _ in range(chance.randrange(6)))
    spans = ((32, 127), (0, 0x300), (0xD000, 0xD800), (0xE000, 0x110000), (8, 14), (0x2028, 0x202A))
    return "".join(chr(chance.randrange(*chance.choice(spans))) for _ in range(chance.randrange(4)))


def value(chance: random.Random, depth: int = 0) -> Any:
    """Return any value that JSON has."""
    kind = chance.randrange(7) if depth < 3 else chance.randrange(4)
    if kind < 3:
        return number(chance)
    if kind == 3:
        return text(chance)
    if kind == 4:
        return chance.choice((None, True, False))
    if kind == 5:
        return [value(chance, depth + 1) for _ in range(chance.randrange(4))]
    return {text(chance): value(chance, depth + 1) for _ in range(chance.randrange(4))}


WRITERS: tuple[Callable[[Any], bytes], ...] = (
    lambda plain: msgspec.json.encode(plain, order="sorted"),
    lambda plain: json.dumps(plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode(),
    lambda plain: json.dumps(plain, sort_keys=True, separators=(",", ":")).encode(),
    rfc8785.dumps,
)


def believed_as_written(seed: int, count: int) -> int:
    """Write values in several ways; assert that RFC 8785 writes what is believed; return how many were."""
    chance = random.Random(seed)
    believed = 0
    for _ in range(count):
        plain = value(chance)
        for write in WRITERS:
            try:
                written = write(plain)
                again = msgspec.json.decode(written)
            except (ValueError, msgspec.DecodeError, RecursionError):
                continue
            if b"\\" not in written and (fast := written_fast(again)) is not None:
                believed += 1
                assert rfc8785.dumps(again) == fast
    return believed


def test_what_is_believed_is_canonical() -> None:
    """Of random values, odd numbers and texts, none that is believed is written otherwise by RFC 8785."""
    assert believed_as_written(3, 4000) > 3000


NOT_CANONICAL = (
    *(b"1.0", b"[1.0]", b'{"a":-0}', b"[-0.0]", b"1e2", b"[1E2]", b"[1e21]", b"[1e-7]", b"[0.0000001]"),
    *(b'["\\u0008"]', b'["\\u001F"]', b"[9007199254740993]", b"[12345678901234567890]"),
    '{"\U00010000":1,"\ue000":1}'.encode(),
)


@pytest.mark.parametrize("line", NOT_CANONICAL)
def test_what_is_not_canonical_is_never_believed(line: bytes) -> None:
    """Spellings that decode well and that RFC 8785 writes otherwise are refused."""
    assert written_fast(msgspec.json.decode(line)) != line
    with pytest.raises(FileError):
        decode(b" " + line, "x")


def test_a_capture_takes_the_fast_way() -> None:
    """A record, its digest with digits around an e, its kind "cat5e-utp", is written without the library."""
    for made in (content(before="sha256:" + "1e2f" * 16), content(full_reading(True))):
        line = made.partition(b"\n")[0]
        assert b"cat5e-" in line or b"1e2f" in line
        assert written_fast(msgspec.json.decode(line)) == line
