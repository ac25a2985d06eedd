"""Hurt bytes that look for their own way: what reaches a line no bytes before it reached is hurt further.

Lines are counted where a decoder of the house can stand, in `wiremap`; what the libraries do within is theirs. The same
seed takes the same way.
"""

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from random import Random
from types import CodeType, FrameType
from typing import Any

import wiremap
from tests.decoders.hurt import hurt
from wiremap.errors import WiremapError

HOUSE = str(Path(wiremap.__file__).parent)
LONGEST = 100_000  # bytes that are hurt further; longer ones only grow
Line = tuple[CodeType, int]


def lines_of(read: Callable[[bytes], Any], found: bytes, house: str = HOUSE) -> set[Line]:
    """Return the lines of the house that reading these bytes came by; what it raises but WiremapError is raised."""
    seen: set[Line] = set()

    def within(frame: FrameType, event: str, _arg: object) -> Any:
        if event == "line":
            seen.add((frame.f_code, frame.f_lineno))
        return within

    def called(frame: FrameType, _event: str, _arg: object) -> Any:
        return within if frame.f_code.co_filename.startswith(house) else None

    before = sys.gettrace()
    sys.settrace(called)
    try:
        read(found)
    except WiremapError as error:
        if not error.hint:
            raise AssertionError(f"no hint: {error}") from error
    finally:
        sys.settrace(before)
    return seen


def guided(
    sound: Sequence[bytes], read: Callable[[bytes], Any], chance: Random, count: int, house: str = HOUSE
) -> tuple[int, int]:
    """Give a decoder so many hurt bytes; return how many lines were reached, and how many bytes led to new ones.

    Half of what is hurt is one of the sixteen newest that reached something new.
    """
    corpus, reached = list(sound), set[Line]()
    for one in sound:
        reached |= lines_of(read, one, house)
    for _ in range(count):
        start = chance.choice(corpus[-16:] if chance.random() < 0.5 else corpus)
        found = hurt(start, chance, corpus)
        try:
            lines = lines_of(read, found, house)
        except BaseException as error:
            raise AssertionError(f"{type(error).__name__}: {error}, of {found[:2000]!r}") from error
        if not lines <= reached:
            reached |= lines
            if len(found) <= LONGEST:
                corpus.append(found)
    return len(reached), len(corpus) - len(sound)
