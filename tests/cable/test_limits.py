"""Limits are data, each with its reason."""

from pathlib import Path

import pytest

from wiremap.cable.limits import FILE, THRESHOLDS, limits, limits_from_builtins, read_thresholds
from wiremap.errors import FileError


def test_every_limit_has_a_reason() -> None:
    """Every threshold says where it comes from and why it is what it is."""
    thresholds = read_thresholds(FILE)
    assert {threshold.name for threshold in thresholds} == set(THRESHOLDS)
    assert all(len(threshold.reason) > 40 for threshold in thresholds)
    assert any(threshold.basis == "assumption" for threshold in thresholds)
    for threshold in thresholds:
        if threshold.basis == "standard":
            assert any(body in threshold.reason for body in ("IEEE", "TIA", "ISO", "IEC"))


def test_the_bounds_between_joined_and_open() -> None:
    """Joined up to 200 ohm, high resistance to 10 kohm, leakage to 1 Mohm, foreign voltage from 0.3 V."""
    known = limits()
    assert (known.joined_ohm, known.high_resistance_ohm, known.leakage_ohm) == (200.0, 10e3, 1e6)
    assert known.foreign_voltage_v == 0.3
    assert (known.step_ohm, known.step_ratio, known.step_uncertainties) == (0.5, 0.1, 3.0)


def test_limits_come_back_from_a_record() -> None:
    """The limits that a capture carries come back as they were; one it did not know yet is the one that ships."""
    plain: dict[str, object] = {**limits().to_builtins(), "joined_ohm": 100.0}
    assert limits_from_builtins(plain).joined_ohm == 100.0
    assert limits_from_builtins(dict(limits().to_builtins())) == limits()
    assert limits_from_builtins({}) == limits()


@pytest.mark.parametrize("plain", [{"joined_ohm": "200"}, {"joined_ohm": -1.0}, {"unheard_of": 1.0}])
def test_limits_of_a_record_that_are_wrong(plain: dict[str, object]) -> None:
    """A limit that is no number, or that nobody knows, is an error that names it."""
    with pytest.raises(FileError, match=next(iter(plain))):
        limits_from_builtins(plain)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("value = 200.0", 'value = "200"', "joined_ohm.value"),
        ('basis = "assumption"', 'basis = "guess"', "joined_ohm.basis"),
        ("[film_ohm]", "[films_ohm]", "film_ohm"),
        ("format = 1", "format = 9", "format"),
    ],
)
def test_a_wrong_file(old: str, new: str, said: str, tmp_path: Path) -> None:
    """A file of limits with a mistake is refused with file and key."""
    path = tmp_path / "limits.toml"
    path.write_text(FILE.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")
    with pytest.raises(FileError, match=said) as caught:
        read_thresholds(path)
    assert str(path) in caught.value.what
