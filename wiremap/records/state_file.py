"""Where a program stands, on the disk: canonical JSON of one type, whole or not at all, read strictly."""

from pathlib import Path
from typing import Protocol, TypeVar

import msgspec

from wiremap.errors import FileError
from wiremap.files import read_if_there
from wiremap.records.canonical import decode, encode
from wiremap.records.new_file import make_folder, write_over


class Formatted(Protocol):
    """A type of file that carries the number of its format."""

    @property
    def format(self) -> int:
        """Return the number."""


State = TypeVar("State", bound=Formatted)


def read_state(path: Path, kind: type[State], number: int, most_bytes: int, hint: str) -> State | None:
    """Return what is kept there, None where nothing is; FileError, with this hint, where it cannot be read.

    number: of the format that is read.
    """
    content = read_if_there(path, most_bytes, hint)
    if content is None:
        return None
    plain = decode(content.rstrip(b"\n"), str(path))
    try:
        found = msgspec.convert(plain, kind)
    except (ValueError, RecursionError) as error:
        raise FileError(f"{path}: {error}", hint) from error
    if found.format != number:
        raise FileError(f"{path}: format is {found.format}", f"This version reads format {number}.")
    return found


def write_state(path: Path, state: Formatted) -> None:
    """Keep it; when this returns it is on the disk, whole. FileError where it cannot be written."""
    make_folder(path.parent)
    write_over(path, encode(msgspec.to_builtins(state)) + b"\n")
