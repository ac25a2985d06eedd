"""Opening a file whose name came from outside: it may be a pipe, a device or a folder, which are no files of ours."""

import errno
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

OPENED_BY_THE_SHELL = ("/dev/stdin", "/dev/fd/", "/proc/self/fd/")  # a pipe, but one that somebody writes to


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
    flags = os.O_RDONLY | sum(getattr(os, name, 0) for name in ("O_BINARY", "O_NONBLOCK", "O_NOCTTY"))
    handle = os.open(path, flags)
    mode = os.fstat(handle).st_mode
    if not stat.S_ISREG(mode):
        os.close(handle)
        what = "a folder" if stat.S_ISDIR(mode) else "a device or a pipe"
        raise OSError(errno.EINVAL, f"it is {what}, no regular file")
    with os.fdopen(handle, "rb") as file:
        yield file
