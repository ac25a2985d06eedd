"""Commands killed, or without room on the disk, at full count."""

import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.kills.commands import COMMANDS
from tests.kills.lots import batches
from tests.long import Check


def _check(name: str, tried: Callable[[Path, int, int, bool], str], killed: bool, count: int) -> Check:
    def run(seed: int, count: int) -> str:
        with tempfile.TemporaryDirectory() as folder:
            return tried(Path(folder), seed, count, killed)

    return Check(f"kills: {name}, {'killed' if killed else 'without room'}", run, count)


CHECKS = tuple(
    _check(name, tried, killed, 100 if killed else 15)
    for name, tried in {**COMMANDS, "batches": batches}.items()
    for killed in (True, False)
)
