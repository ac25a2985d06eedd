"""A guided repair on the disk: what it was begun with and all that was reported, whole or not at all."""

import re
from pathlib import Path
from typing import Any, Literal

import msgspec

from wiremap.records.canonical import LARGEST_RECORD_BYTES
from wiremap.records.home import home
from wiremap.records.state_file import read_state, write_state

FORMAT = 1
HINT = "Remove it and begin the repair anew, or take it from a copy."
MendEntryKind = Literal["tested", "answered", "did", "ticked", "taken-back"]


class MendEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """One thing that was reported. reading: of a test; moved: its plugs were moved meanwhile, how, for how long and
    with how many looks; question, end, contacts of a test: the part that it was of; question, end, contacts, fault,
    word: of an answer, as it was said; work, end, order, against, place: of something done; word: of a tick. at_utc:
    when."""

    kind: MendEntryKind
    at_utc: str = ""
    reading: dict[str, Any] | None = None
    moved: bool = False
    how: Literal["watched", "looked", ""] = ""
    seconds: float = 0.0
    looks: int = 0
    question: str = ""
    end: Literal["near", "far", ""] = ""
    contacts: tuple[str, ...] = ()
    fault: str = ""
    word: str = ""
    work: str = ""
    order: tuple[tuple[str, str | None], ...] = ()
    against: tuple[str, ...] = ()
    place: str = ""


class MendFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A repair. options: the words of the options that it was begun with. before: the capture of the cable as it was
    found, a path, "" = none was kept. over: whether it ended."""

    format: int
    options: dict[str, str | bool | int | tuple[str, ...]]
    entries: tuple[MendEntry, ...] = ()
    before: str = ""
    over: bool = False


def mend_path(label: str) -> Path:
    """Return where the repair of a cable is kept: in the user's folder, by the cable's label."""
    safe = re.sub(r"[^\w-]", "-", label)[:60].strip("-")
    return home() / "mending" / f"{safe or 'cable'}.json"


def read_mend(path: Path) -> MendFile | None:
    """Return the repair that is kept there, None where there is none; FileError where it cannot be read."""
    return read_state(path, MendFile, FORMAT, LARGEST_RECORD_BYTES, HINT)


def write_mend(path: Path, mend: MendFile) -> None:
    """Keep a repair; when this returns it is on the disk, whole. FileError where it cannot be written."""
    write_state(path, mend)
