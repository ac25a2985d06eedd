"""Calibrations of testers, kept one file each."""

import json
from pathlib import Path

import pytest

from wiremap.calibration import Calibration
from wiremap.errors import FileError
from wiremap.reading.parts import Tester
from wiremap.records.calibrations import calibration_of, calibration_path, keep_calibration

TESTER = Tester("WIREMAP", "BENCH-18", "53494D01", "1.0")
KNOWN = Calibration(
    "53494D01", "2026-03-01T08:30:00Z", open_pf=((0.0, 10.0), (10.0, 0.0)), pin_pf=10.2, nvp=0.69, nvp_u=0.01
)


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path))


def test_what_is_kept_comes_back() -> None:
    """A calibration comes back as it was kept, and the next one takes its place."""
    assert calibration_of(TESTER) is None
    path = keep_calibration(TESTER, KNOWN)
    assert calibration_of(TESTER) == KNOWN
    later = Calibration("53494D01", "2026-04-01T08:30:00Z")
    assert keep_calibration(TESTER, later) == path
    assert calibration_of(TESTER) == later
    assert [entry.name for entry in path.parent.iterdir()] == [path.name]


def test_each_tester_has_its_own() -> None:
    """Another tester of the same model has no part in it, and a serial number cannot leave the folder."""
    keep_calibration(TESTER, KNOWN)
    other = Tester("WIREMAP", "BENCH-18", "../../0002", "1.0")
    assert calibration_of(other) is None
    assert calibration_path(other).parent == calibration_path(TESTER).parent


def test_another_testers_file_is_refused() -> None:
    """A file that speaks of another tester than its name is not used."""
    path = keep_calibration(TESTER, KNOWN)
    path.write_text(path.read_text().replace("53494D01", "99999999"))
    with pytest.raises(FileError, match="99999999"):
        calibration_of(TESTER)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("", "not JSON"),
        ("{" * 5000, "not JSON"),
        ("[1]", "format 1"),
        ('{"format": 2}', "format 1"),
        ('{"format": 1, "tester_serial": "53494D01", "made_utc": "x", "colour": 1}', "colour"),
        ('{"format": 1, "tester_serial": "53494D01", "made_utc": "x", "pin_pf": "ten"}', "pin_pf"),
        ('{"format": 1, "made_utc": "x"}', "tester_serial"),
    ],
)
def test_damaged_files_are_refused(content: str, says: str) -> None:
    """A calibration file that is none is refused with its name, what is wrong and what to do."""
    path = keep_calibration(TESTER, KNOWN)
    path.write_text(content)
    with pytest.raises(FileError, match=says) as caught:
        calibration_of(TESTER)
    assert str(path) in caught.value.what
    assert "calibrate" in caught.value.hint


def test_file_is_plain_json() -> None:
    """The file can be read by anybody: one JSON object with its format number."""
    plain = json.loads(keep_calibration(TESTER, KNOWN).read_text())
    assert plain["format"] == 1
    assert plain["nvp"] == 0.69


def test_a_folder_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the folder cannot be made, the error names it."""
    blocked = tmp_path / "file"
    blocked.write_text("")
    monkeypatch.setenv("WIREMAP_HOME", str(blocked / "home"))
    with pytest.raises(FileError, match="cannot be made"):
        keep_calibration(TESTER, KNOWN)
