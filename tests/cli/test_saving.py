"""`--save` is looked at before anything is measured, and what was measured is kept somewhere in any case."""

import errno
import os
import time
from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import run
from wiremap.cli.keyboard import Keyboard
from wiremap.records.captures.files import load


def wait(_: Keyboard, wait_s: float) -> str:
    """Hear no key for so long."""
    time.sleep(wait_s)
    return ""


NO_TESTER = ("--tester", "/dev/none", "--key", "none")


@pytest.mark.parametrize("command", ["test", "watch"])
@pytest.mark.parametrize("what", ["folder", "there", "no such folder", "a file's folder"])
def test_a_path_that_cannot_be_saved_to(tmp_path: Path, command: str, what: str) -> None:
    """A path that cannot be written is refused before the tester is looked for, and what is there stays."""
    there = tmp_path / "there.json"
    there.write_bytes(b"kept")
    path = {
        "folder": tmp_path / "none",
        "there": there,
        "no such folder": tmp_path / "none" / "one.json",
        "a file's folder": there / "one.json",
    }[what]
    for_how_long = ("--minutes", "1") if command == "watch" else ()
    ran = run(command, *for_how_long, *NO_TESTER, "--save", str(path))
    assert ran.code == 6, ran.err
    assert str(path if what in ("folder", "there") else path.parent) in ran.err
    assert "hint: " in ran.err
    assert there.read_bytes() == b"kept"
    assert run("test", *NO_TESTER, "--save", str(tmp_path)).code == 5


@pytest.mark.parametrize("command", ["test", "watch"])
def test_no_capture_is_lost(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: str) -> None:
    """When the disk fills up while it is measured, the page is shown, the capture kept elsewhere, and that is said."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    target = tmp_path / "full"
    target.mkdir()
    usual = os.link

    def link(part: Any, path: Any) -> None:
        if Path(path).parent == target:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        usual(part, path)

    monkeypatch.setattr("wiremap.records.new_file.os.link", link)
    monkeypatch.setattr("wiremap.cli.keyboard.Keyboard.read", wait)
    words = ("--minutes", "0.01", "--moves", "0") if command == "watch" else ()
    ran = run(command, "--tester", "sim:patch", "--expect", "straight", "--key", "none", *words, "--save", str(target))
    assert ran.code == 6
    assert ran.out.startswith("PASS")
    (kept,) = (tmp_path / "home" / "rescued").iterdir()
    assert str(kept) in ran.err
    assert f"Kept:{kept}" in "".join(ran.out.split())
    assert "No space left" in ran.err
    assert load(kept).record is not None
    assert list(target.iterdir()) == []
