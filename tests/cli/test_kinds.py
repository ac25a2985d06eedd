"""Kinds of cable on the command line: listed, told, taught with a cable of known length."""

import json
from pathlib import Path

import pytest

from tests.cli.running import process
from wiremap.cable.kinds import read_kind
from wiremap.records.own_kinds import kinds_to_name

TEACH = ("calibrate", "--tester", "sim:reference:patch", "--length", "3")
TEST = ("test", "--tester", "sim:reference:patch", "--expect", "straight", "--json")


def test_all_kinds_are_listed(tmp_path: Path) -> None:
    """Every kind that ships is there with its title; a file that cannot be used is said, and ends nothing."""
    (tmp_path / "kinds").mkdir()
    (tmp_path / "kinds" / "bad.toml").write_text("format = 1\n", encoding="utf-8")
    ran = process("kinds", environment={"WIREMAP_HOME": str(tmp_path)})
    assert ran.code == 0
    for one in kinds_to_name():
        assert f"{one.name} " in ran.out
        assert one.title in ran.out
    assert "bad.toml" in ran.err


def test_an_unknown_kind_names_all(tmp_path: Path) -> None:
    """Whoever mistypes a kind reads every name, their own as well."""
    here = {"WIREMAP_HOME": str(tmp_path)}
    assert process(*TEACH, "--kind", "my-reel", "--like", "cat5e-utp", environment=here).code == 0
    ran = process(*TEST, "--kind", "cat5", environment=here)
    assert ran.code == 2
    assert all(one.name in ran.err for one in kinds_to_name())
    assert "my-reel" in ran.err


def test_a_taught_kind_is_used_and_said(tmp_path: Path) -> None:
    """What a cable taught is kept, narrows the length of its like, and is judged alike from a record."""
    here = {"WIREMAP_HOME": str(tmp_path)}
    plain = json.loads(process(*TEST, environment=here).out)
    assert process(*TEACH, "--kind", "my-reel", "--like", "cat5e-utp", environment=here).code == 0
    kept = read_kind(tmp_path / "kinds" / "my-reel.toml")
    assert "simulated" in kept.of
    assert kept.category == "5e"
    assert not (tmp_path / "calibrations").exists()  # the tester stays as it was
    path = tmp_path / "kept.json"
    told = json.loads(process(*TEST, "--kind", "my-reel", "--save", str(path), "--key", "none", environment=here).out)
    assert told["kind"]["told"] == "my-reel"
    assert told["kind"]["of"] == kept.of
    before, after = plain["lengths"][-1], told["lengths"][-1]
    assert after["low_m"] < 3.0 < after["high_m"]
    assert after["high_m"] - after["low_m"] < before["high_m"] - before["low_m"]
    (tmp_path / "kinds" / "my-reel.toml").unlink()  # the record carries the figures
    assert process("verify", str(path), environment=here).code == 0
    again = json.loads(process("judge", str(path), "--json", environment=here).out)
    assert again["lengths"] == told["lengths"]


def test_the_page_says_the_kind(tmp_path: Path) -> None:
    """A kind that was told stands beside the length; else what the cable is like."""
    here = {"WIREMAP_HOME": str(tmp_path)}
    words = ("test", "--tester", "sim:reference:patch", "--expect", "straight")
    assert "Kind told: cat5e-utp." in process(*words, "--kind", "cat5e-utp", environment=here).out
    assert "Like cat5e-utp" in process(*words, environment=here).out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--kind", "cat6-utp"), "comes with wiremap"),
        (("--kind", "My Reel"), "cannot name"),
        (("--kind", "../up"), "cannot name"),
        (("--kind", "mine", "--of", "drum"), "--of drum"),
        (("--kind", "mine", "--like", "cat5"), "no kind of cable"),
        (("--kind", "mine", "--length", "3.6", "--like", "cat5e-utp"), "standard uncertainties"),
        (("--kind", "mine", "--length", "0.5"), "teaches nothing"),
        (("--kind", "mine", "--tester", "sim:reference:far-3-6-exchanged"), "reversed-pair"),
        (("--kind", "mine", "--tester", "sim:reference:split-pair"), "split-pair"),
        (("--like", "cat5e-utp"), "teach a kind"),
    ],
)
def test_what_teaches_nothing(tmp_path: Path, words: tuple[str, ...], says: str) -> None:
    """Names that cannot be, cables that are not sound and lengths that are not theirs are refused; nothing is kept."""
    ran = process(*TEACH, *words, environment={"WIREMAP_HOME": str(tmp_path / "home")})
    assert ran.code == 2
    assert says in ran.err
    assert "hint: " in ran.err
    assert not list(tmp_path.rglob("*.toml"))


@pytest.mark.parametrize(
    ("cable", "length", "like", "adapter"),
    [("sensor-m12d", "10", "industrial-2x2", "m12d-rj45"), ("camera-m12x", "15", "cat5e-futp", "m12x-rj45")],
)
def test_a_cable_teaches_through_its_adapters(tmp_path: Path, cable: str, length: str, like: str, adapter: str) -> None:
    """As it lies in the sockets; what it taught is then told of a cable that is tested with its adapter named."""
    here = {"WIREMAP_HOME": str(tmp_path)}
    tester = ("--tester", f"sim:reference:{cable}")
    taught = process("calibrate", *tester, "--length", length, "--kind", "lead", "--like", like, environment=here)
    assert taught.code == 0, taught.err
    words = ("test", *tester, "--near-adapter", adapter, "--expect", adapter, "--kind", "lead", "--json")
    (case,) = process(*words, environment=here).objects()
    (found,) = (one for one in case["lengths"] if one["pair"] is None and one["method"] == "fused")
    assert case["kind"]["told"] == "lead"
    assert found["low_m"] <= float(length) <= found["high_m"]
    assert found["high_m"] - found["low_m"] < 0.09 * float(length)


def test_a_kind_like_nothing_is_of_no_category_that_was_promised(tmp_path: Path) -> None:
    """Taught without --like, a kind is not held against any category, and its category stays unmeasured."""
    here = {"WIREMAP_HOME": str(tmp_path)}
    assert process(*TEACH, "--kind", "mine", environment=here).code == 0
    assert read_kind(tmp_path / "kinds" / "mine.toml").category == "unknown"
    words = ("test", "--tester", "sim:reference:patch", "--expect", "straight", "--services")
    of_own = " ".join(process(*words, "--kind", "mine", environment=here).out.split())
    assert "not in these answers: category, loss and crosstalk" in of_own
    assert "not promised" not in of_own
    rated = " ".join(process(*words, "--kind", "cat5e-utp", environment=here).out.split())
    assert "not rated on Cat 5e" in rated
