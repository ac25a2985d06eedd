"""Ways to tamper with a capture, and whether each is caught; used at small and at full count."""

import random
from collections.abc import Iterator

from wiremap.errors import FileError
from wiremap.records.captures.check import Checked, check

Known = dict[str, str]


def is_caught(content: bytes, known: Known) -> bool:
    """Whether a capture is refused, or found not to be as it was written."""
    try:
        found = check(content, "x", known)
    except FileError as error:
        return bool(error.hint)
    return not is_sound(found)


def is_sound(found: Checked) -> bool:
    """Whether nothing is wrong with a capture: bytes, signature by a known key, verdict."""
    return found.digest_holds and found.signature == "known" and found.verdict == "same"


def flips(content: bytes) -> Iterator[bytes]:
    """Give the content with each single bit changed."""
    for place in range(len(content)):
        for bit in range(8):
            changed = bytearray(content)
            changed[place] ^= 1 << bit
            yield bytes(changed)


def every_flip_is_caught(content: bytes, known: Known) -> int:
    """Check that every single flipped bit is caught; return how many there were."""
    assert not is_caught(content, known)
    count = 0
    for count, changed in enumerate(flips(content), 1):
        assert is_caught(changed, known), f"bit {(count - 1) % 8} of byte {(count - 1) // 8}"
    return count


def every_cut_is_caught(content: bytes, known: Known, seed: int, count: int) -> int:
    """Check that bytes left out, doubled, put in or exchanged are caught; return how many were tried."""
    chance = random.Random(seed)
    tried = 0
    while tried < count:
        a, b = sorted(chance.randrange(len(content) + 1) for _ in range(2))
        changed = chance.choice(
            (
                content[:a] + content[b:],
                content[:b] + content[a:],
                content[:a] + chance.randbytes(chance.randrange(1, 9)) + content[a:],
                content[:a] + content[a:b][::-1] + content[b:],
            )
        )
        if changed == content:
            continue
        assert is_caught(changed, known), (a, b)
        tried += 1
    return tried
