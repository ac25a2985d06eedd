"""What is kept of a tester in the hand: the newest tests, their labels, photos and captures, whole or not at all."""

from pathlib import Path
from typing import Annotated, Any, Literal

import msgspec

from wiremap.records.canonical import LARGEST_RECORD_BYTES
from wiremap.records.home import home
from wiremap.records.state_file import read_state, write_state

FORMAT = 1
HINT = "Move it away to begin anew; captures that were kept stay where they are."
MOST_FILE_BYTES = 8 * LARGEST_RECORD_BYTES
EntryNumber = Annotated[int, msgspec.Meta(ge=0, le=10**9)]
EntryHas = Annotated[int, msgspec.Meta(ge=-1, le=10**9)]
EntryTold = tuple[Literal["near", "far"], str, str]  # end, contact, colour


class KeptEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A capture of a test. file: its name in the folder; digest: of its record; told, photos: how many it
    has, told -1 = not all that was said."""

    file: str
    digest: str
    told: EntryHas
    photos: EntryNumber


class ShotEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """One test. at: its moment, ISO 8601 with the offset from UTC. re_terminated to follows: of its record."""

    number: EntryNumber
    at: str
    label: str
    reading: dict[str, Any]
    told: tuple[EntryTold, ...] = ()
    photos: tuple[tuple[str, str], ...] = ()
    kept: KeptEntry | None = None
    re_terminated: str = ""
    note: str = ""
    work: tuple[tuple[str, bool], ...] = ()
    follows: str | None = None


class HandsetFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """All that is kept. count: the number of the newest test. done: wishes that were carried out, newest last.
    mending: whether a guided repair is on; before: the digest of the capture it began with, None = none yet."""

    format: int
    label: str
    count: EntryNumber
    shots: tuple[ShotEntry, ...]
    done: tuple[str, ...]
    mending: bool = False
    before: str | None = None


def handset_path(port: int) -> Path:
    """Return where it is kept: in the user's folder, a file for each port that is served."""
    return home() / "phone" / f"tests-{port}.json"


def read_handset(path: Path) -> HandsetFile | None:
    """Return what is kept there, None where nothing is; FileError where it cannot be read."""
    return read_state(path, HandsetFile, FORMAT, MOST_FILE_BYTES, HINT)


def write_handset(path: Path, file: HandsetFile) -> None:
    """Keep it; when this returns it is on the disk, whole. FileError where it cannot be written."""
    write_state(path, file)
