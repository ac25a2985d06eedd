"""What is said of a tester's calibration, and which files of a folder are captures."""

from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.judge.wiring.test_terminators import bus
from tests.records.samples import content, plain_record, published_key, reading
from wiremap.cable.limits import limits
from wiremap.cable.patterns import pattern
from wiremap.calibration import Calibration
from wiremap.errors import FileError
from wiremap.judge.case import Requirements, judge_case
from wiremap.judge.verdict import JUDGING
from wiremap.records.captures.capture import Job, to_bytes
from wiremap.records.captures.check import CalibrationState, calibration_state, capture_files, check
from wiremap.records.captures.judge_file import judge_file
from wiremap.records.captures.keep import record_of
from wiremap.report.words.records import verified


@pytest.mark.parametrize(
    ("calibration", "state"),
    [
        (None, "none"),
        (Calibration("0007", "2026-01-01T00:00:00Z"), "in-date"),
        (Calibration("0007", "2025-02-28T10:00:00Z"), "in-date"),
        (Calibration("0007", "2025-02-01T00:00:00Z"), "old"),
        (Calibration("0007", "2026-03-02T00:00:00Z"), "later"),
        (Calibration("0008", "2026-01-01T00:00:00Z"), "other-tester"),
    ],
)
def test_calibration_is_looked_at_as_it_was_then(calibration: Calibration | None, state: CalibrationState) -> None:
    """A calibration is in date when it was the tester's own and no older than a year at the time of the test."""
    found = replace(reading(), calibration=calibration)
    assert calibration_state(found, "2026-03-01T09:30:00Z") == state
    assert check(content(found), "x", {}).calibration == state


def test_signatures_are_told_apart() -> None:
    """A capture is unsigned, signed by a known key, or by one that is not known."""
    public = published_key().public
    assert check(content(), "x", {public: "yard"}).signature == "none"
    assert check(content(key=published_key()), "x", {}).signature == "unknown"
    found = check(content(key=published_key()), "x", {public: "yard"})
    assert (found.signature, found.signer, found.key) == ("known", "yard", public)


def test_own_limits_are_said() -> None:
    """A capture judged with other limits than those that ship says so, and is judged by them again."""
    assert not check(content(), "x", {}).own_limits
    found = check(content(limits=replace(limits(), joined_ohm=100.0)), "x", {})
    assert found.own_limits
    assert found.verdict == "same"


def test_terminators_that_were_asked_for_are_asked_for_again(tmp_path: Path) -> None:
    """A bus judged with `--terminators 1` follows from its record, and judging its file again asks for as many."""
    wanted = Requirements(pattern("m12a-5pole"), terminators=1)
    case = judge_case(bus((2, 3, 4, 5), 1, 0), wanted)
    assert case.diagnosis.verdict == "pass"
    kept = to_bytes(record_of(case, Job()))
    assert check(kept, "x", {}).verdict == "same"
    path = tmp_path / "bus.json"
    path.write_bytes(kept)
    assert judge_file(path).diagnosis.verdict == "pass"
    assert judge_file(path, Requirements(terminators=2)).diagnosis.verdict == "fail"
    plain = record_of(case, Job())
    for wrong in (-1, 7, 1.5, "one", True):
        with pytest.raises(FileError, match=r"terminators"):
            to_bytes(plain | {"rules": plain["rules"] | {"terminators": wrong}})


@pytest.mark.parametrize("number", [None, 1, JUDGING + 1])
def test_a_record_of_other_rules_is_not_called_wrong(number: int | None) -> None:
    """What follows from the rules of another number is said beside what follows from today's, and is no fault."""
    plain = plain_record() | {"judging": number}
    plain["diagnosis"] = plain["diagnosis"] | {"verdict": "fail"}
    if number is None:
        del plain["judging"]
    found = check(to_bytes(plain), "x", {})
    assert (found.verdict, found.judging, found.own_limits) == ("other-rules", number or 1, False)
    problems, notes = verified(found, "single", False)
    assert problems == ()
    assert f"recorded as FAIL by rules number {number or 1}; by today's rules: PASS" in notes


def test_other_findings_by_other_rules_are_said() -> None:
    """The same verdict with other faults is said as such."""
    plain = plain_record(reading((0, 1, None, 3, 4, 5, 6, 7))) | {"judging": 1}
    plain["diagnosis"] = plain["diagnosis"] | {"findings": []}
    problems, notes = verified(check(to_bytes(plain), "x", {}), "single", False)
    assert problems == ()
    assert "recorded as FAIL by rules number 1; by today's rules: FAIL, with other faults" in notes


def test_a_record_of_todays_rules_must_follow_from_its_reading() -> None:
    """The same number and another verdict is a fault of the record; the same verdict is none, whatever the number."""
    plain = plain_record()
    assert plain["judging"] == JUDGING
    assert check(to_bytes(plain | {"judging": 1}), "x", {}).verdict == "same"
    plain["diagnosis"] = plain["diagnosis"] | {"verdict": "fail"}
    found = check(to_bytes(plain), "x", {})
    assert found.verdict == "verdict-differs"
    assert len(verified(found, "single", False)[0]) == 1


def test_a_limit_that_was_not_known_then_is_no_limit_of_its_own() -> None:
    """A record of a version that knew fewer limits is not said to have used others."""
    plain = plain_record()
    some = dict(list(plain["limits"].items())[:5])
    assert not check(to_bytes(plain | {"limits": some}), "x", {}).own_limits
    assert check(to_bytes(plain | {"limits": some | {"nonsense": 1.0}}), "x", {}).own_limits


def test_a_folder_is_searched_in_order(tmp_path: Path) -> None:
    """Of a folder all .json files are taken, those of folders below too, but no hidden and no half-written ones."""
    for name in ("b/2.json", "b/1.json", "a.json", ".hidden.json", "c.txt", ".123.part"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"")
    found = [path.relative_to(tmp_path).as_posix() for path in capture_files(tmp_path)]
    assert found == ["a.json", "b/1.json", "b/2.json"]


def test_what_is_no_capture_is_unreadable() -> None:
    """A file without two lines, or whose second line is no seal, cannot be verified."""
    for made in (b"", b"{}", b"{}\n", b"{}\n{}\n", content()[:-1], content() + b"\n"):
        with pytest.raises(FileError, match="x"):
            check(made, "x", {})
