"""Whether a lot has all the captures that its ledger names."""

import os
from collections.abc import Collection, Iterator
from pathlib import Path

from wiremap.records.lots.ledger import CAPTURES, LEDGER, read_ledger


def ledger_files(path: Path) -> Iterator[Path]:
    """Give the ledgers of the lots in a folder, of the lot itself when its folder of captures is given."""
    if not path.is_dir():
        return
    beside = path.resolve().parent / LEDGER
    if path.resolve().name == CAPTURES and beside.is_file():
        yield beside
    for folder, names, files in os.walk(path):
        names.sort()
        if LEDGER in files:
            yield Path(folder, LEDGER)


def missing_captures(ledger: Path, digests: Collection[str]) -> tuple[str, ...]:
    """Return the file names of captures that a ledger names and that are not among the digests; FileError as it says.

    This shows what the chain cannot: captures taken away from the end of a lot.
    """
    return tuple(
        entry.file or entry.capture
        for entry in read_ledger(ledger)
        if entry.capture is not None and entry.capture not in digests
    )
