"""Files are written whole or not at all, and what stands in the way is said with the file's name and what to do."""

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from wiremap.errors import FileError
from wiremap.records.new_file import check_folder_to_make, check_new, make_folder, write_new_file, write_over


def fail(code: int) -> object:
    """Return a call that the system refuses."""

    def refused(*_: object) -> None:
        raise OSError(code, os.strerror(code))

    return refused


def test_a_new_file_is_checked_and_written(tmp_path: Path) -> None:
    """A file that can be written is checked without a trace, then written as it should be."""
    path = tmp_path / "new.json"
    check_new(path)
    assert list(tmp_path.iterdir()) == []
    write_new_file(path, b"whole")
    assert [(one.name, one.read_bytes()) for one in tmp_path.iterdir()] == [("new.json", b"whole")]


@pytest.mark.parametrize("what", ["file", "link", "no folder", "folder is a file", "name too long"])
def test_what_cannot_be_written_is_refused_before(tmp_path: Path, what: str) -> None:
    """What is there, a folder that is not, and a name no disk takes are refused alike by the check and by writing."""
    there = tmp_path / "there"
    there.write_bytes(b"kept")
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    path = {
        "file": there,
        "link": tmp_path / "link",
        "no folder": tmp_path / "none" / "new",
        "folder is a file": there / "new",
        "name too long": tmp_path / ("x" * 300),
    }[what]
    before = sorted(tmp_path.iterdir())
    for attempt in (check_new, lambda one: write_new_file(one, b"new")):
        with pytest.raises(FileError, match=r"is there already|cannot be written \(|no such folder") as caught:
            attempt(path)
        assert str(path.parent) in caught.value.what
        assert caught.value.hint
    assert sorted(tmp_path.iterdir()) == before
    assert there.read_bytes() == b"kept"


@pytest.mark.parametrize("call", ["write", "fsync", "replace", "open"])
def test_a_full_disk_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str) -> None:
    """Wherever writing stops, the file that was there stays whole, and nothing half written lies about."""
    path = tmp_path / "kept.json"
    write_over(path, b"before")
    with monkeypatch.context() as patch:
        if call == "replace":
            patch.setattr(Path, "replace", fail(errno.EIO))
        elif call == "write":
            patch.setattr("wiremap.records.new_file.os.fdopen", fail(errno.ENOSPC))
        else:
            patch.setattr(f"wiremap.records.new_file.os.{call}", fail(errno.ENOSPC))
        with pytest.raises(FileError, match=r"kept\.json: cannot be written"):
            write_over(path, b"after")
    assert [(one.name, one.read_bytes()) for one in tmp_path.iterdir()] == [("kept.json", b"before")]
    write_over(path, b"after")
    assert path.read_bytes() == b"after"


def test_folders(tmp_path: Path) -> None:
    """A folder that is not there yet is checked where it would be made; what is no folder is named."""
    deep = tmp_path / "a" / "b"
    check_folder_to_make(deep)
    assert list(tmp_path.iterdir()) == []
    make_folder(deep)
    assert deep.is_dir()
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(FileError, match="file/lots: cannot be made, since"):
        check_folder_to_make(tmp_path / "file" / "lots")
    with pytest.raises(FileError, match="file/lots: cannot be made"):
        make_folder(tmp_path / "file" / "lots")


def test_a_new_file_whose_folder_cannot_be_kept_is_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the folder cannot be put on the disk the file was not written, so its name can be tried again."""
    path = tmp_path / "new.json"
    with monkeypatch.context() as patch:
        patch.setattr("wiremap.records.new_file.keep_folder", fail(errno.EIO))
        with pytest.raises(FileError, match=r"new\.json: cannot be written"):
            write_new_file(path, b"whole")
    assert list(tmp_path.iterdir()) == []
    write_new_file(path, b"whole")


@pytest.mark.parametrize(
    "ask", [lambda folder: check_new(folder / "new"), make_folder], ids=["check_new", "make_folder"]
)
def test_what_killed_writers_left_goes_when_it_is_old(tmp_path: Path, ask: Callable[[Path], None]) -> None:
    """Where others may be writing, what is hours old goes, what is new stays, and so does all that is not ours."""
    old, new, other = (tmp_path / name for name in (f".{'0a' * 8}.part", f".{'1b' * 8}.part", ".mine.part"))
    for path in (old, new, other):
        path.write_bytes(b"half")
    for path in (old, other):
        os.utime(path, (1e9, 1e9))
    ask(tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted((new.name, other.name))
