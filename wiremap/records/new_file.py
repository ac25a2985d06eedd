"""A new file, whole or not at all, and never in the place of one that is there."""

import contextlib
import errno
import os
import secrets
from pathlib import Path

from wiremap.errors import FileError

NO_LINKS = {errno.EPERM, errno.EACCES, errno.ENOSYS, errno.EOPNOTSUPP, errno.ENOTSUP, errno.EXDEV, errno.EMLINK}


def write_new(path: Path, content: bytes, mode: int = 0o644) -> None:
    """Write a file that did not exist; when this returns, it is on the disk, whole.

    Two writers of one name: one wins, the other gets FileExistsError. A file, or a symbolic link, that is there
    is left alone. Where the file system has no hard links, a writer that dies between two calls leaves the name
    with nothing in it. Other failures: OSError.
    """
    part = path.with_name(f".{secrets.token_hex(8)}.part")
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    handle = os.open(part, flags, mode)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        _give_name(part, path, flags, mode)
    finally:
        with contextlib.suppress(FileNotFoundError):
            part.unlink()
    _keep_folder(path.parent)


def write_new_file(path: Path, content: bytes, hint: str = "Give a folder you may write.") -> None:
    """Write a file that did not exist, as `write_new` does; FileError, with this hint, when it cannot be written."""
    try:
        write_new(path, content)
    except FileExistsError as error:
        raise FileError(f"{path}: is there already", "Remove it, or give another name.") from error
    except OSError as error:
        raise FileError(f"{path}: cannot be written ({error.strerror})", hint) from error


def check_new(path: Path, hint: str = "Give a folder you may write.") -> None:
    """Refuse a name that no new file could have: FileError; what is tried is gone again, nothing is left behind."""
    if path.is_symlink() or path.exists():
        raise FileError(f"{path}: is there already", "Remove it, or give another name.")
    check_folder(path.parent, hint)


def check_folder(folder: Path, hint: str = "Give a folder you may write.") -> None:
    """Refuse a folder that is none, or that no file can be made in, by making one and taking it away."""
    if not folder.is_dir():
        raise FileError(f"{folder}: no such folder", "Make it first, or give another one.")
    part = folder / f".{secrets.token_hex(8)}.part"
    try:
        part.touch(exist_ok=False)
        part.unlink()
    except OSError as error:
        raise FileError(f"{folder}: cannot be written ({error.strerror})", hint) from error


def _give_name(part: Path, path: Path, flags: int, mode: int) -> None:
    try:
        os.link(part, path)
    except FileExistsError:
        raise
    except OSError as error:
        if error.errno not in NO_LINKS:
            raise
        os.close(os.open(path, flags, mode))
        part.replace(path)


def _keep_folder(folder: Path) -> None:
    """Put the folder's entry on the disk as well, where a folder can be opened."""
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
