"""`wiremap calibrate`, on the simulated tester."""

from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import Ran, process
from wiremap.records.captures.files import load

EMPTY = "sim:empty"


@pytest.mark.parametrize("board", ["bench", "reference"])
def test_zero_then_length_then_measure(tmp_path: Path, board: str) -> None:
    """Zero and length add up in one calibration, which the next measurement uses and its reading carries.

    Only a board that hears echoes learns how fast the cable is.
    """
    empty, patch = f"sim:{board}:empty", f"sim:{board}:patch"
    here = {"WIREMAP_HOME": str(tmp_path / "home")}
    before = fused_length(process("test", "--tester", patch, "--expect", "straight", "--json", environment=here))
    zero = process("calibrate", "--tester", empty, "--json", environment=here)
    (said,) = zero.objects()
    assert (zero.code, said["zero"], said["nvp"]) == (0, True, None)
    assert said["pin_pf"] == pytest.approx({"bench": 70.0, "reference": 10.0}[board], abs=0.3)
    scaled = process("calibrate", "--tester", patch, "--length", "3.0", "--json", environment=here)
    (said,) = scaled.objects()
    assert (scaled.code, said["zero"], said["known_length_m"]) == (0, True, 3.0)
    assert said["nvp"] == (pytest.approx(0.69, abs=0.03) if board == "reference" else None)
    path = tmp_path / "after.json"
    words = ("test", "--tester", patch, "--expect", "straight", "--json", "--save", str(path), "--key", "none")
    tested = process(*words, environment=here)
    assert tested.code == 0
    fused = fused_length(tested)
    assert fused["low_m"] < 3.0 < fused["high_m"]
    assert abs(fused["length_m"] - 3.0) < abs(before["length_m"] - 3.0)
    carried = load(path).reading.calibration
    assert carried is not None
    assert (carried.known_length_m, carried.open_pf is not None) == (3.0, True)
    dropped = process("calibrate", "--tester", patch, "--forget-length", "--json", environment=here)
    (said,) = dropped.objects()
    assert (said["zero"], said["nvp"], said["known_length_m"]) == (True, None, None)


def fused_length(tested: Ran) -> dict[str, Any]:
    """Return the cable's length in the JSON of a test."""
    (case,) = tested.objects()
    (found,) = (one for one in case["lengths"] if one["pair"] is None and one["method"] == "fused")
    return dict(found)


def test_page(tmp_path: Path) -> None:
    """In words the calibration names the tester, its figures with their uncertainty, and where it is kept."""
    ran = process(
        "calibrate",
        "--tester",
        "sim:reference:patch",
        "--length",
        "3",
        environment={"WIREMAP_HOME": str(tmp_path / "home")},
    )
    assert ran.code == 0
    assert "velocity factor 0." in ran.out
    assert " +- " in ran.out
    assert str(tmp_path / "home" / "calibrations") in ran.out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--tester", "sim:patch"), "not empty"),
        (("--tester", "sim:split-pair", "--length", "10"), "not sound: pairs are split"),
        (("--tester", "sim:sensor-m12d", "--length", "10"), "2 of 4 pairs are whole"),
        (("--tester", "sim:patch", "--length", "0.1"), "cannot calibrate"),
        (("--tester", "sim:patch", "--length", "3", "--forget-length"), "exclude each other"),
        (("--tester", "sim:patch", "--length-u", "0.1"), "--length-u"),
        (("--tester", "sim:patch", "--forget-length"), "never calibrated"),
    ],
)
def test_what_cannot_calibrate(tmp_path: Path, words: tuple[str, ...], says: str) -> None:
    """Sockets that are not empty, a split cable and contradictory requests are refused; nothing is kept."""
    home = tmp_path / "home"
    ran = process("calibrate", *words, environment={"WIREMAP_HOME": str(home)})
    assert ran.code == 2
    assert says in ran.err
    assert "hint: " in ran.err
    assert not list(home.rglob("*.json"))
