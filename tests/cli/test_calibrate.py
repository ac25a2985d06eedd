"""`wiremap calibrate`, on the simulated tester."""

from pathlib import Path

import pytest

from tests.cli.running import process

NOT_YET = """format = 1
title = "nothing plugged in yet"

[[bench]]
cable = "patch"
plug_at_s = 3000.0
unplug_at_s = 3001.0
"""


@pytest.fixture
def empty(tmp_path: Path) -> str:
    """Return the address of a simulated tester whose sockets stay empty."""
    path = tmp_path / "empty.toml"
    path.write_text(NOT_YET)
    return f"sim:{path}"


def test_zero_then_length_then_measure(tmp_path: Path, empty: str) -> None:
    """Zero and length add up in one calibration, which the next measurement uses and its reading carries."""
    here = {"WIREMAP_HOME": str(tmp_path / "home")}
    zero = process("calibrate", "--tester", empty, "--json", environment=here)
    (said,) = zero.objects()
    assert (zero.code, said["zero"], said["nvp"]) == (0, True, None)
    assert said["pin_pf"] == pytest.approx(10.0, abs=0.3)
    scaled = process("calibrate", "--tester", "sim:patch", "--length", "3.0", "--json", environment=here)
    (said,) = scaled.objects()
    assert (scaled.code, said["zero"], said["known_length_m"]) == (0, True, 3.0)
    assert said["nvp"] == pytest.approx(0.69, abs=0.03)
    tested = process("test", "--tester", "sim:patch", "--expect", "straight", "--json", environment=here)
    (case,) = tested.objects()
    assert tested.code == 0
    (fused,) = (one for one in case["lengths"] if one["pair"] is None and one["method"] == "fused")
    assert fused["low_m"] < 3.0 < fused["high_m"]
    assert any("calibrated" in term["name"] for term in fused["terms"])
    dropped = process("calibrate", "--tester", "sim:patch", "--forget-length", "--json", environment=here)
    (said,) = dropped.objects()
    assert (said["zero"], said["nvp"], said["known_length_m"]) == (True, None, None)


def test_page(tmp_path: Path) -> None:
    """In words the calibration names the tester, its figures with their uncertainty, and where it is kept."""
    ran = process(
        "calibrate", "--tester", "sim:patch", "--length", "3", environment={"WIREMAP_HOME": str(tmp_path / "home")}
    )
    assert ran.code == 0
    assert "velocity factor 0." in ran.out
    assert " +- " in ran.out
    assert str(tmp_path / "home" / "calibrations") in ran.out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--tester", "sim:patch"), "not empty"),
        (("--tester", "sim:split-pair", "--length", "10"), "not sound"),
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
