import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import run
from tests.firmware_sim.simulators import described, simulator
from wiremap.reading.talk.language import Language
from wiremap.records.captures.check import check
from wiremap.records.captures.files import load
from wiremap.records.languages import keep_language


def watched(address: str, *words: str, keys: str = "") -> tuple[int, dict[str, Any], str]:
    """Watch, with keys from a pipe, and return exit code, the JSON object and what was said."""
    done = subprocess.run(
        [sys.executable, "-m", "wiremap", "watch", "--tester", address, "--expect", "straight", "--json", *words],
        input=keys,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
    )
    return done.returncode, json.loads(done.stdout or "{}"), done.stderr


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> tuple[int, dict[str, Any], str, Path]:
    """Watch a cable whose contact 7 opens for 40 ms now and then, for a few seconds, and keep a capture."""
    folder = tmp_path_factory.mktemp("watch")
    picture = folder / "events.png"
    with simulator("--board", "reference", cable="intermittent") as (address, _):  # whose model is the quickest
        words = ("--minutes", "0.05", "--moves", "0", "--save", str(folder), "--key", "none", "--picture", str(picture))
        code, said, err = watched(address, *words, keys="\n")
    return code, said, err, picture


def test_what_comes_and_goes_fails(seen: tuple[int, dict[str, Any], str, Path]) -> None:
    """A contact that opened while it was watched is a finding, on the right contacts, and the verdict is fail."""
    code, said, err, _ = seen
    assert code == 3
    assert said["verdict"] == "fail"
    (finding,) = said["findings"]
    assert (finding["fault"], finding["near"], finding["far"]) == ("intermittent", ["7"], ["7"])
    events = said["watch"]["events"]
    assert len(events) >= 1
    assert {(event["a"], event["b"], event["change"]) for event in events} == {("near 7", "far 7", "opened")}
    for event in events[:-1]:
        assert event["for_us"] == pytest.approx(40_000, abs=3_000)
    assert len(said["watch"]["moved_us"]) == 1
    assert "near 7 - far 7 opened" in err


def test_events_are_kept_in_the_capture(seen: tuple[int, dict[str, Any], str, Path]) -> None:
    """The capture holds every event, and its verdict follows from it again."""
    said = seen[1]
    path = Path(said["capture"])
    kept = load(path)
    assert len(kept.reading.events) == len(said["watch"]["events"])
    checked = check(path.read_bytes(), str(path), {})
    assert checked.verdict == "same"


def test_the_picture_shows_the_events(seen: tuple[int, dict[str, Any], str, Path]) -> None:
    """The picture of the events in time is written as a PNG."""
    assert seen[3].read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("cable", ["empty", "far-open"])
def test_what_is_in_no_socket_or_in_one_alone_is_not_watched(cable: str) -> None:
    """Nothing could open there: the page says at once what to plug in, instead of after five minutes."""
    with simulator(cable=cable) as (address, _):
        code, said, err = watched(address, "--minutes", "5")
    assert (code, said["verdict"], said["watch"]) == (3, "fail", None), err


def test_a_pass_needs_time_and_movements(tmp_path: Path) -> None:
    """A quiet cable passes after the whole time and all movements; when one is missing, it is undecided."""
    with simulator(cable=described(tmp_path)) as (address, _):
        code, said, err = watched(address, "--minutes", "0.02", "--moves", "2", keys="\n\n")
        assert (code, said["verdict"], said["watch"]["end"]) == (0, "pass", "enough"), err
        code, said, err = watched(address, "--minutes", "0.5", "--moves", "0", keys="q\n")
        assert (code, said["verdict"], said["watch"]["end"]) == (4, "undecided", "stopped"), err
        assert {"what": "intermittent", "why": "not-measured"} in said["not_checked"]


def test_a_picture_of_no_kind_known(tmp_path: Path) -> None:
    """A picture that could not be written is refused before anything is measured."""
    assert run("watch", "--picture", str(tmp_path / "events.xls")).code == 2
    there = tmp_path / "events.png"
    there.write_bytes(b"")
    assert run("watch", "--picture", str(there)).code == 6


def test_a_bare_tester_says_that_it_cannot_watch() -> None:
    """A tester without a watch is refused with what it can do in its place, and nothing is judged."""
    with simulator("--board", "bare") as (address, _):
        code, said, _ = watched(address, "--minutes", "0.01")
    assert code == 5
    assert "this tester cannot watch" in said["error"]["what"]
    assert "wiremap test --repeat" in said["error"]["hint"]


def test_a_learnt_tester_says_that_it_cannot_watch(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One whose language was learnt is not asked in another: it is said at once that it cannot watch."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path))
    keep_language("/dev/ttyUSB-none", Language(), None)
    done = run("watch", "--tester", "/dev/ttyUSB-none", "--minutes", "0.01")
    assert done.code == 5
    assert "prints its own text cannot watch" in done.err
    assert "wiremap test --repeat" in " ".join(done.err.split())
