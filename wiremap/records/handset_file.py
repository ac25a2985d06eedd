"""What is kept of a tester in the hand: the newest tests, their labels, photos and captures, whole or not at all."""

from pathlib import Path
from typing import Annotated, Any, Literal

import msgspec

from wiremap.errors import FileError
from wiremap.records.canonical import LARGEST_RECORD_BYTES, decode, encode
from wiremap.records.home import home
from wiremap.records.new_file import make_folder, write_over

FORMAT = 1
HINT = "Move it away to begin anew; captures that were kept stay where they are."
MOST_FILE_BYTES = 8 * LARGEST_RECORD_BYTES
EntryNumber = Annotated[int, msgspec.Meta(ge=0, le=10**9)]
EntryTold = tuple[Literal["near", "far"], str, str]  # end, contact, colour


class KeptEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A capture of a test. file: its name in the folder; digest: of its record; told, photos: how many it has."""

    file: str
    digest: str
    told: EntryNumber
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
    if not path.is_file():
        return None
    try:
        content = path.read_bytes()
    except OSError as error:
        raise FileError(f"{path}: cannot be read ({error.strerror})", HINT) from error
    if len(content) > MOST_FILE_BYTES:
        raise FileError(f"{path}: is larger than {MOST_FILE_BYTES} bytes", HINT)
    plain = decode(content.rstrip(b"\n"), str(path))
    try:
        found = msgspec.convert(plain, HandsetFile)
    except (ValueError, RecursionError) as error:
        raise FileError(f"{path}: {error}", HINT) from error
    if found.format != FORMAT:
        raise FileError(f"{path}: format is {found.format}", f"This version reads format {FORMAT}.")
    return found


def write_handset(path: Path, file: HandsetFile) -> None:
    """Keep it; when this returns it is on the disk, whole. FileError where it cannot be written."""
    make_folder(path.parent)
    write_over(path, encode(msgspec.to_builtins(file)) + b"\n")
