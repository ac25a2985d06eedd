"""Names of files that are none: pipes that nobody writes to, devices without an end, folders, patterns, too long."""

import os
from pathlib import Path

import pytest

from tests.cli.running import run
from wiremap.errors import FileError
from wiremap.reading.parts import Tester
from wiremap.records.calibrations import calibration_of, calibration_path

TOO_LONG = "x" * 5000
ODD = (
    "pipe",
    "/dev/zero",
    "/dev/full",
    "folder[1]",
    "no*",
    "gone[1].json",
    TOO_LONG,
    f"a/{TOO_LONG}",
    "loop",
    "\x1b[2J",
)
COMMANDS = (
    ("judge",), ("judge", "--cells", "ohm"), ("verify",), ("report",), ("pinout",), ("lots",), ("mend",),
    ("judge", "table.csv", "--expect"), ("judge", "table.csv", "--colours"), ("judge", "table.csv", "--near-order"),
    ("judge", "table.csv", "--kind"), ("judge", "table.csv", "--expect", "straight", "--talks"),
)  # fmt: skip


@pytest.fixture
def odd(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a folder with all of them, and a sound table."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    os.mkfifo("pipe")
    Path("folder[1]").mkdir()
    Path("loop").symlink_to("loop")
    rows = (",".join("1" if a == b else "0" for b in range(8)) for a in range(8))
    Path("table.csv").write_text("\n".join(rows) + "\n")
    return tmp_path


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_what_is_no_file_is_said_at_once(odd: Path, words: tuple[str, ...]) -> None:
    """Every command that takes a file says which name it cannot use; it never waits, fails itself or obeys the name."""
    assert odd.is_dir()
    for name in ODD:
        if (words, name) == (("verify",), "folder[1]"):
            continue  # a folder is what it takes
        ran = run(*words, name)
        assert ran.code in (2, 6), (name, ran)
        assert "\x1b" not in ran.out + ran.err
        assert len(ran.out + ran.err) < 12_000


def test_a_folder_that_holds_a_pipe(odd: Path) -> None:
    """Among a folder's captures a pipe is one that cannot be read, and the others are looked at."""
    os.mkfifo("folder[1]/a.json")
    example = next(iter(sorted((Path(__file__).resolve().parents[2] / "captures").glob("*.json"))))
    Path("folder[1]/b.json").write_bytes(example.read_bytes())
    ran = run("verify", str(odd / "folder[1]"))
    assert ran.code == 6
    assert "a.json: cannot be read (it is a device or a pipe, no regular file)" in ran.out + ran.err
    assert "1 sound" in ran.out


def test_a_calibration_that_is_a_pipe(odd: Path) -> None:
    """A pipe in the place of what the program keeps itself is said, not waited for."""
    tester = Tester("WIREMAP", "BENCH-18", "0007", "1.0", ("RES",), 0.5)
    path = calibration_path(tester)
    assert odd in path.parents
    path.parent.mkdir(parents=True)
    os.mkfifo(path)
    with pytest.raises(FileError, match="no regular file"):
        calibration_of(tester)


def test_what_the_shell_opened_is_read(odd: Path) -> None:
    """A pipe that the shell gives a name to has somebody who writes to it."""
    reading, writing = os.pipe()
    os.write(writing, (odd / "table.csv").read_bytes())
    os.close(writing)
    ran = run("judge", f"/dev/fd/{reading}", "--expect", "straight")
    os.close(reading)
    assert ran.code == 0, ran
