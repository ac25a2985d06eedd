"""A lot as it is held to be: its ledger, its captures and its signed ends, each against the others."""

import os
from collections.abc import Iterator, Mapping
from pathlib import Path

import msgspec

from wiremap.files import is_there
from wiremap.records.lots.against import Difference, differences
from wiremap.records.lots.ends import END_NAME, EndSeen, ends
from wiremap.records.lots.ledger import LEDGER, read_ledger
from wiremap.records.lots.ledger_entry import Entry
from wiremap.records.lots.rebuild import CAPTURES


class HeldLot(msgspec.Struct, frozen=True):
    """What was found of a lot: its lines, what its captures say otherwise, and its ends, oldest first."""

    folder: Path
    entries: tuple[Entry, ...]
    differences: tuple[Difference, ...]
    ends: tuple[EndSeen, ...]


def held(folder: Path, known: Mapping[str, str] | None = None) -> HeldLot:
    """Return a lot held against itself; FileError where its ledger or an end of it cannot be read.

    known: public keys, hex, and what the user calls them; None = those of the user, read where there is an end.
    """
    entries = read_ledger(folder / LEDGER)
    seen: tuple[EndSeen, ...] = ()
    if is_there(folder / END_NAME.format(number=1)):
        if known is None:
            from wiremap.records.keys import known_keys

            known = known_keys()
        seen = ends(folder, entries, known)
    return HeldLot(folder, tuple(entries), differences(folder, entries), seen)


def lots_in(path: Path) -> Iterator[Path]:
    """Give the folders of the lots in a folder, of the lot itself when its folder of captures is given."""
    if not path.is_dir():
        return
    beside = path.resolve().parent
    if path.resolve().name == CAPTURES and is_there(beside / LEDGER):
        yield beside
    for folder, names, files in os.walk(path):
        names.sort()
        if LEDGER in files:
            yield Path(folder)
