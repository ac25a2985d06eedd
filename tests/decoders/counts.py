"""Hurt bytes for every decoder: only WiremapError may come of them."""

import random
import time
import warnings
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.decoders.entries import Entry, entries
from tests.decoders.hurt import hurt
from wiremap.errors import WiremapError

AT_ONCE = 200
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


def decoders_refuse_or_read(seed: int, count: int, limit_s: float | None = None) -> str:
    """Give every decoder so many hurt bytes, or fewer where the time is over; say how many, and how many a second.

    limit_s: seconds for all of them together, the slow ones get fewer; None = no limit.
    """
    said, read_any = [], 0
    with (
        TemporaryDirectory(dir=IN_MEMORY if IN_MEMORY.is_dir() else None) as folder,
        warnings.catch_warnings(),
        entries(Path(folder)) as every,
    ):
        warnings.simplefilter("ignore")  # of the picture library, on half pictures
        for name, entry in every.items():
            for sound in entry.sound if name not in NEARLY else ():
                entry.read(sound)
        for name, entry in every.items():
            chance = random.Random(f"{seed} {name}")
            done = refused = 0
            began = time.monotonic()
            while done < count and (limit_s is None or time.monotonic() - began < limit_s / len(every)):
                part = min(AT_ONCE, count - done)
                refused += refused_of(entry, chance, part)
                done += part
            assert refused, f"{name}: nothing is refused"
            read_any += done - refused
            said.append(f"{name} {done} ({done / max(time.monotonic() - began, 1e-9):.0f}/s, {done - refused} read)")
    assert read_any
    return "; ".join(said)
