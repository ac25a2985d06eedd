"""What is kept where the program itself fails: what it was doing, where it failed, and what had been measured.

A fault of the program is not the cable's, and must not take the cable's reading with it, nor the files after it.
"""

import errno
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from wiremap.errors import FileError, ProgramError, WiremapError

if TYPE_CHECKING:
    from wiremap.reading.reading import Reading

NAMES_AT_FAULT = (errno.ENAMETOOLONG, errno.ELOOP, errno.EACCES, errno.EPERM, errno.EIO)  # of what was given to us
FOLDER = "broken"
LONGEST_NAME = 300  # that is shown whole
REPORT, READING = "report.txt", "reading.json"


@contextmanager
def keeping(reading: "Reading | None" = None, source: str = "") -> Iterator[None]:
    """Turn a fault of the program into a ProgramError, what is known of it kept; reading: what had been measured.

    source: what was being looked at, such as a file's name. What a technician can put right goes through as it is.
    """
    try:
        yield
    except (WiremapError, BrokenPipeError):  # who reads the output may stop
        raise
    except Exception as error:
        raise broken(error, reading, source) from error


def broken(error: Exception, reading: "Reading | None" = None, source: str = "") -> WiremapError:
    """Return a fault of the program as an error that says what was kept, and where; it is written first.

    A file or folder that the system does not let us look at is none of the program's.
    """
    if isinstance(error, OSError) and error.errno in NAMES_AT_FAULT and error.filename is not None and reading is None:
        name = str(error.filename)
        short = name if len(name) <= LONGEST_NAME else f"{name[:LONGEST_NAME]}..."
        return FileError(f"{short}: cannot be used ({error.strerror})", "Check the name and that you may read it.")
    import secrets

    from wiremap.records.home import home
    from wiremap.records.new_file import write_new_files

    what = f"{source + ': ' if source else ''}wiremap itself failed ({type(error).__name__}: {error})"
    contents = {REPORT: _report(error, source).encode("utf-8", "backslashreplace")}
    if reading is not None:
        import msgspec

        from wiremap.reading.reading import to_builtins

        contents[READING] = msgspec.json.encode(to_builtins(reading)) + b"\n"
    folder = home() / FOLDER / f"{datetime.now(UTC):%Y%m%dT%H%M%SZ}-{secrets.token_hex(4)}"
    try:
        write_new_files(folder, contents)
    except FileError as trouble:
        return ProgramError(what, f"Nothing of it could be kept: {trouble.what}.")
    measured = f" `wiremap judge {folder / READING}` judges it again." if reading is not None else ""
    return ProgramError(
        what,
        f"This is no fault of the cable. What was kept is in {folder}: send it to who looks after wiremap.{measured}",
    )


def _report(error: Exception, source: str) -> str:
    import platform
    import traceback

    from wiremap.version import SOFTWARE

    lines = [
        f"{SOFTWARE}, Python {platform.python_version()}, {platform.platform()}",
        f"command: {' '.join(map(repr, sys.argv[1:]))}",
        *([f"looking at: {source}"] if source else []),
        "",
        *traceback.format_exception(error),
    ]
    return "\n".join(lines) + "\n"
