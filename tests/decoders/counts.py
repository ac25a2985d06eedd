"""Hurt bytes for every decoder: only WiremapError may come of them."""

import random
import time
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.decoders.entries import Entry, entries
from tests.decoders.guided import guided
from tests.decoders.hurt import hurt
from wiremap.errors import WiremapError

IN_MEMORY = Path("/dev/shm")  # files that nothing is lost with, where the system has such a place
NEARLY = ("lines", "texts of testers", "words beside photos")  # of which none given is sound


def refused_of(entry: Entry, chance: random.Random, count: int) -> int:
    """Give a decoder so many hurt bytes and return how many it refused; each with a hint, and at once."""
    refused = 0
    for _ in range(count):
        found = hurt(chance.choice(entry.sound), chance, entry.sound)
        try:
            entry.read(found)
        except WiremapError as error:
            refused += bool(error.hint)
        except BaseException as error:
            raise AssertionError(f"{type(error).__name__}: {error}, of {found[:2000]!r}") from error
    return refused


def decoders_refuse_or_read(seed: int, count: int, least: int = 1) -> str:
    """Give every decoder so many hurt bytes, the slow ones a part of them; say how many, and how many a second.

    least: so many each, however slow. Seconds are of processor time.
    """
    said, read_any = [], 0
    with _every() as every:
        for name, entry in every.items():
            for sound in entry.sound if name not in NEARLY else ():
                entry.read(sound)
        for name, entry in every.items():
            part = max(min(least, count), count // entry.one_in)
            began = time.process_time()
            refused = refused_of(entry, random.Random(f"{seed} {name}"), part)
            assert refused, f"{name}: nothing is refused"
            read_any += part - refused
            rate = part / max(time.process_time() - began, 1e-9)
            said.append(f"{name} {part} ({rate:.0f}/s, {part - refused} read)")
    assert read_any
    return "; ".join(said)


def decoders_are_searched(seed: int, count: int, least: int = 1) -> str:
    """Let hurt bytes look for their way into every decoder; say how many, lines reached, and how many led on.

    count: to the fastest; least: so many each, however slow.
    """
    said = []
    with _every() as every:
        for name, entry in every.items():
            part = max(min(least, count), count // entry.searched_one_in)
            lines, new = guided(entry.sound, entry.read, random.Random(f"{seed} {name}"), part)
            said.append(f"{name} {part} ({lines} lines, {new} led on)")
    return "; ".join(said)


@contextmanager
def _every() -> Iterator[dict[str, Entry]]:
    """Give every decoder, its files in memory where the system has such a place."""
    with (
        TemporaryDirectory(dir=IN_MEMORY if IN_MEMORY.is_dir() else None) as folder,
        warnings.catch_warnings(),
        entries(Path(folder)) as every,
    ):
        warnings.simplefilter("ignore")  # of the picture library, on half pictures
        yield every
