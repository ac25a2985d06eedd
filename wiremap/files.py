"""Opening a file whose name came from outside: it may be a pipe, a device or a folder, which are no files of ours."""

import errno
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from wiremap.errors import FileError

OPENED_BY_THE_SHELL = ("/dev/stdin", "/dev/fd/", "/proc/self/fd/")  # a pipe, but one that somebody writes to
WITHOUT_WAITING = ("O_BINARY", "O_NONBLOCK", "O_NOCTTY")  # where the system has them
CHECK_NAME = "Check the name and that you may read the file."


def is_there(path: Path) -> bool:
    """Whether anything has this name, be it a file, what is none, or a link that leads nowhere."""
    return os.path.lexists(path)


@contextmanager
def opened(path: Path) -> Iterator[BinaryIO]:
    """Open a regular file to read its bytes; OSError where it is none, at once.

    A named pipe that nobody writes to would wait for ever, and a device may have no end. What the shell itself opened
    for the program is read as it comes.
    """
    if str(path).startswith(OPENED_BY_THE_SHELL):
        with path.open("rb") as file:
            yield file
        return
    with os.fdopen(open_regular(path, os.O_RDONLY), "rb") as file:
        yield file


def open_regular(path: Path, flags: int, mode: int = 0o644) -> int:
    """Open a regular file, or make one where the flags say so, and return its handle; OSError where it is none."""
    handle = os.open(path, flags | sum(getattr(os, name, 0) for name in WITHOUT_WAITING), mode)
    kind = os.fstat(handle).st_mode
    if not stat.S_ISREG(kind):
        os.close(handle)
        what = "a folder" if stat.S_ISDIR(kind) else "a device or a pipe"
        raise OSError(errno.EINVAL, f"it is {what}, no regular file")
    return handle


def read_at_most(path: Path, largest: int, hint: str) -> bytes:
    """Return a file's bytes; FileError when it cannot be read, or is larger than it may be (unread, with this hint)."""
    try:
        with opened(path) as file:
            return _bounded(file, path, largest, hint)
    except OSError as error:
        raise FileError(f"{path}: cannot be read ({error.strerror})", CHECK_NAME) from error


def read_if_there(path: Path, largest: int, hint: str) -> bytes | None:
    """Return the bytes of a file that the program keeps itself, None where there is none; else as `read_at_most`."""
    try:
        with opened(path) as file:
            return _bounded(file, path, largest, hint)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise FileError(f"{path}: cannot be read ({error.strerror})", CHECK_NAME) from error


def check_size(file: BinaryIO, path: Path, largest: int, hint: str) -> None:
    """Refuse a file that is larger than it may be, unread: FileError, with this hint."""
    if os.fstat(file.fileno()).st_size > largest:
        raise FileError(f"{path}: is larger than {largest} bytes", hint)


def _bounded(file: BinaryIO, path: Path, largest: int, hint: str) -> bytes:
    check_size(file, path, largest, hint)
    content = file.read(largest + 1)
    if len(content) > largest:  # a pipe of the shell's, or one that grew
        raise FileError(f"{path}: is larger than {largest} bytes", hint)
    return content
