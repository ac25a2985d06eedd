"""Bytes that are nearly right: sound ones with bytes changed, pieces moved, numbers and words put in that hurt."""

import random
from collections.abc import Sequence

WORDS = (
    b"", b"\x00", b"\xff", b"\xed\xa0\x80", b"\xef\xbb\xbf", b"\r", b"\n", b"\t", b'"', b"\\", b"\\u0000", b"\\ud800",
    b"null", b"NaN", b"Infinity", b"-0", b"1e999", b"-1", b"1e-400", b"9" * 400, b"0x" + b"f" * 400,
    b"9007199254740993", b"true", b"[" * 2000, b"{" * 2000, b"]", b"}", b"{}", b"[]", b",", b";", b":", b"=", b"'",
    b"#", b"2026-02-30T00:00:00Z", b"0001-01-01T00:00:00Z", b"near 1", b"far 99", b"open", b"joined",
    b"\x1b[2J", "\u202e\u0301".encode(), b"a" * 5000,
)  # fmt: skip


def hurt(sound: bytes, chance: random.Random, others: Sequence[bytes]) -> bytes:
    """Return bytes with one to four things changed; others: sound ones that pieces may come from."""
    content = bytearray(sound)
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        at = chance.randrange(len(content) + 1)
        match chance.randrange(8):
            case 0 if content:  # one bit
                content[at % len(content)] ^= 1 << chance.randrange(8)
            case 1:  # any bytes
                content[at : at + chance.randrange(3)] = chance.randbytes(chance.randrange(4))
            case 2:  # cut out
                del content[at : at + chance.choice((1, 2, 8, 100))]
            case 3:  # cut off
                del content[at:]
            case 4:  # twice
                content[at:at] = content[at : at + chance.choice((1, 5, 40, 400))]
            case 5:  # a piece of another one
                other = chance.choice(others)
                start = chance.randrange(len(other) + 1)
                content[at:at] = other[start : start + chance.choice((1, 10, 100))]
            case 6:  # a digit for another
                digits = [k for k, byte in enumerate(content[at : at + 200], at) if 48 <= byte <= 57]
                if digits:
                    content[chance.choice(digits)] = chance.randrange(48, 58)
            case _:
                content[at : at + chance.choice((0, 0, 1, 5))] = chance.choice(WORDS)
    return bytes(content)
