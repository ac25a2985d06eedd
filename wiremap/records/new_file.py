"""Files that are written whole or not at all, and not in the place of one that is there unless that is wanted."""

import contextlib
import errno
import os
import re
import secrets
import time
from collections.abc import Iterator, Mapping
from pathlib import Path

from wiremap.errors import FileError

HINT = "Give a folder that exists and that you may write, with room on its disk."
OPEN_FLAGS = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
PART = re.compile(r"\.[0-9a-f]{16}\.part")
OLD_PART_S = 2 * 3600.0
NO_LINKS = {errno.EPERM, errno.EACCES, errno.ENOSYS, errno.EOPNOTSUPP, errno.ENOTSUP, errno.EXDEV, errno.EMLINK}


def write_new(path: Path, content: bytes, mode: int = 0o644) -> None:
    """Write a file that did not exist; when this returns, it is on the disk, whole.

    Two writers of one name: one wins, the other gets FileExistsError. A file, or a symbolic link, that is there
    is left alone. Where the file system has no hard links, a writer that dies between two calls leaves the name
    with nothing in it. Other failures: OSError.
    """
    with written_beside(path, mode) as part:
        _write_part(part, content, mode)


@contextlib.contextmanager
def written_beside(path: Path, mode: int = 0o644) -> Iterator[Path]:
    """Give a name beside a new file that is to be written by something else, and the file its own name after it.

    The name beside is gone in any case. Fails as `write_new` does; the file is then not there.
    """
    part = _beside(path)
    try:
        yield part
        _give_name(part, path, mode)
    finally:
        part.unlink(missing_ok=True)
    try:
        keep_folder(path.parent)
    except OSError:
        path.unlink(missing_ok=True)
        raise


def write_new_file(path: Path, content: bytes, hint: str = HINT, mode: int = 0o644) -> None:
    """Write a file that did not exist, as `write_new` does; FileError, with this hint, when it cannot be written."""
    with as_file_error(path, hint):
        write_new(path, content, mode)


def write_new_files(folder: Path, contents: Mapping[str, bytes], hint: str = HINT) -> None:
    """Write files that did not exist, by name, into a folder, which is made where there is none: all of them or none.

    FileError, with this hint, when one cannot be written; those that were, and a folder that was made, are gone then.
    """
    is_new = not folder.exists()
    make_folder(folder, hint)
    written: list[Path] = []
    try:
        for name, content in contents.items():
            write_new_file(folder / name, content, hint)
            written.append(folder / name)
    except BaseException:
        for path in written:
            path.unlink(missing_ok=True)
        if is_new:
            with contextlib.suppress(OSError):
                folder.rmdir()
        raise


def write_over(path: Path, content: bytes, hint: str = HINT, mode: int = 0o644) -> None:
    """Write a file, in the place of one that is there: whole or not at all, and on the disk when this returns.

    FileError, with this hint, when it cannot be written; what was there then stays, but where the folder alone cannot
    be put on the disk: which of the two a power cut would leave is then not known.
    """
    part = _beside(path)
    with as_file_error(path, hint):
        try:
            _write_part(part, content, mode)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
        keep_folder(path.parent)


def make_folder(folder: Path, hint: str = HINT, mode: int = 0o777) -> None:
    """Make a folder, and those it stands in, where there is none; when this returns they are on the disk.

    What writers that were killed left in it hours ago is taken away.
    FileError, with this hint, when it cannot be made.
    """
    made = [one for one in (folder, *folder.parents) if not one.exists()]
    try:
        folder.mkdir(mode=mode, parents=True, exist_ok=True)
        for one in made:
            keep_folder(one.parent)
    except OSError as error:
        raise FileError(f"{folder}: cannot be made ({error.strerror or error})", hint) from error
    take_away_old_parts(folder)


def check_new(path: Path, hint: str = HINT) -> None:
    """Refuse a name that no new file could have: FileError; what is tried is gone again, nothing is left behind."""
    with as_file_error(path, hint):
        if path.is_symlink() or path.exists():
            raise FileExistsError
    check_folder(path.parent, hint)


def check_folder(folder: Path, hint: str = HINT) -> None:
    """Refuse a folder that is none, or that no file can be made in, by making one and taking it away: FileError."""
    if not folder.is_dir():
        raise FileError(f"{folder}: no such folder", "Make it first, or give another one.")
    take_away_old_parts(folder)
    part = _beside(folder / "try")
    with as_file_error(folder, hint):
        os.close(os.open(part, OPEN_FLAGS, 0o600))
        part.unlink()


def check_folder_to_make(folder: Path, hint: str = HINT) -> None:
    """Refuse a folder that is not there and could not be made, or that no file can be made in: FileError."""
    there = next(one for one in (folder, *folder.absolute().parents) if one.exists())
    if not there.is_dir():
        raise FileError(f"{folder}: cannot be made, since {there} is no folder", hint)
    check_folder(there, hint)


@contextlib.contextmanager
def as_file_error(path: Path, hint: str = HINT) -> Iterator[None]:
    """Turn what the system says against writing a file into a FileError with the file's name and this hint."""
    try:
        yield
    except FileExistsError as error:
        raise FileError(f"{path}: is there already", "Remove it, or give another name.") from error
    except OSError as error:
        raise FileError(f"{path}: cannot be written ({error.strerror or error})", hint) from error


def take_away_parts(folder: Path) -> int:
    """Take away what writers that were killed left in a folder; only for one that nobody else writes to meanwhile.

    Return how many there were.
    """
    parts = [path for path in folder.iterdir() if PART.fullmatch(path.name)]
    for path in parts:
        path.unlink(missing_ok=True)
    return len(parts)


def take_away_old_parts(folder: Path) -> None:
    """Take away what writers that were killed left in a folder where others may be writing: what is hours old.

    No writer takes so long. What cannot be looked at or taken away stays, and is nobody's trouble.
    """
    with contextlib.suppress(OSError):
        newest_s = time.time() - OLD_PART_S
        for path in folder.iterdir():
            if PART.fullmatch(path.name) and path.stat().st_mtime < newest_s:
                path.unlink(missing_ok=True)


def _beside(path: Path) -> Path:
    """Return a name for what is not whole yet."""
    return path.with_name(f".{secrets.token_hex(8)}.part")


def _write_part(part: Path, content: bytes, mode: int) -> None:
    handle = os.open(part, OPEN_FLAGS, mode)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _give_name(part: Path, path: Path, mode: int) -> None:
    try:
        os.link(part, path)
    except FileExistsError:
        raise
    except OSError as error:
        if error.errno not in NO_LINKS:
            raise
        os.close(os.open(path, OPEN_FLAGS, mode))
        part.replace(path)


def keep_folder(folder: Path) -> None:
    """Put what a folder lists on the disk, where a folder can be opened; OSError when that fails."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):
            raise
    finally:
        os.close(handle)
