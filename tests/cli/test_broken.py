"""Faults of the program itself, planted in the judge and the page: nothing measured is lost, the rest goes on."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

import pytest

from tests.bench.swept import GOOD, SIDES
from tests.cli.running import run_whatever
from tests.records.samples import content, reading
from wiremap.bench.driver import run_sweep
from wiremap.bench.sweep import Sweep
from wiremap.bench.sweep_events import Bell, KeepRecord, Labelled, Labels, Last, Outcome, Plan, Pressed, Show
from wiremap.errors import WiremapError
from wiremap.reading.joined import Joined
from wiremap.reading.reading import from_json
from wiremap.records.broken import keeping


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give the user a home of their own."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def fails(*_: object, **__: object) -> NoReturn:
    """Fail as a program does."""
    raise KeyError("near 9")


def kept(home: Path) -> Path:
    """Return the folder of the one fault that was kept."""
    (folder,) = (home / "broken").iterdir()
    return folder


@pytest.mark.parametrize("place", ["wiremap.judge.case.judge_case", "wiremap.report.terminal.page.page"])
def test_a_fault_in_judging_or_showing_keeps_what_was_measured(
    home: Path, monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    """The reading that a tester gave is kept and can be judged again; what to send is said; exit code 70."""
    with monkeypatch.context() as patch:
        patch.setattr(place, fails)
        ran = run_whatever("test", "--tester", "sim:patch", "--expect", "straight")
    assert ran.code == 70
    folder = kept(home)
    assert f"What was kept is in {folder}" in ran.err
    assert "wiremap itself failed (KeyError: 'near 9')" in ran.err
    report = (folder / "report.txt").read_text()
    assert report.startswith("wiremap ")
    assert "raise KeyError" in report
    measured = from_json((folder / "reading.json").read_bytes())
    assert measured.origin == "simulator"
    assert run_whatever("judge", str(folder / "reading.json"), "--expect", "straight").code == 0


def test_a_fault_anywhere_is_said_and_kept(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A command that fails before anything was measured keeps where it failed; JSON says so as well."""
    monkeypatch.setattr("wiremap.cli.choices.far_word", fails)
    ran = run_whatever("test", "--tester", "sim:patch", "--json")
    assert ran.code == 70
    assert json.loads(ran.out)["error"]["kind"] == "program"
    assert [path.name for path in kept(home).iterdir()] == ["report.txt"]


def test_where_nothing_can_be_kept_that_is_said(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a home to write to the fault is said all the same."""
    home.write_bytes(b"in the way")
    monkeypatch.setattr("wiremap.cli.choices.far_word", fails)
    ran = run_whatever("test", "--tester", "sim:patch")
    assert ran.code == 70
    assert "Nothing of it could be kept" in ran.err


def test_one_file_that_breaks_the_program_does_not_end_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of many files the one that breaks is named and counted, and every other is judged, verified, drawn."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    paths = [tmp_path / f"{name}.json" for name in ("a", "b", "c")]
    for number, path in enumerate(paths):
        path.write_bytes(content(reading(ohm=0.4 + number / 10)))
    for place, command in (
        ("wiremap.records.captures.judge_file.judge_case", ["judge"]),
        ("wiremap.records.captures.check.rejudge", ["verify"]),
        ("wiremap.records.captures.check.rejudge", ["report", "--make", "label", "--save", str(tmp_path / "made")]),
    ):
        real = __import__(place.rpartition(".")[0], fromlist=["x"]).__dict__[place.rpartition(".")[2]]
        calls: list[int] = []

        def second_fails(*given: object, real: Callable[..., object] = real, calls: list[int] = calls) -> object:
            calls.append(1)
            return fails() if len(calls) == 2 else real(*given)

        with monkeypatch.context() as patch:
            patch.setattr(place, second_fails)
            ran = run_whatever(*command, *map(str, paths))
        assert ran.code == 70
        assert f"{paths[1]}: wiremap itself failed" in ran.err
        said = ran.out if command[0] != "report" else " ".join(path.name for path in (tmp_path / "made").iterdir())
        assert "a" in said
        assert "c" in said
        assert len(calls) >= 3


class Hands:
    """Sockets, book and desk of a bench on which one cable of three breaks the judge."""

    def __init__(self) -> None:
        self.measured = 0
        self.shown: list[str] = []
        self.troubles: list[str] = []
        self.sweep: Sweep | None = None
        self.seconds = 0.0

    def look(self) -> Joined:
        """Return what is in the sockets: the next cable, nothing once its turn is over."""
        assert self.sweep is not None
        is_out = self.sweep.phase in ("clear", "shown") or (self.sweep.phase == "waiting" and self.measured == 3)
        return frozenset() if is_out else GOOD

    def measure(self) -> Outcome:
        """Judge; the second cable breaks the judge."""
        self.measured += 1
        if self.measured == 2:
            with keeping(reading()):
                fails()
        return Outcome("pass", GOOD)

    def reopen(self) -> None:
        """Never needed."""

    def check_room(self) -> None:
        """There is room."""

    def record(self, _: KeepRecord) -> int:
        """Keep the label."""
        return self.measured

    def undo(self, _: Last) -> None:
        """Never asked."""

    def skip(self, label: str) -> None:
        """Never asked."""

    def note(self, _: Last, text: str) -> None:
        """Never asked."""

    def heard(self, _: float) -> list[Pressed | Labelled]:
        """Stop when all three were in and out."""
        return [Pressed("stop")] if self.seconds > 60 else []

    def page(self, sweep: Sweep) -> None:
        """Keep where the lot stands."""
        self.sweep = sweep

    def verdict(self, shown: Show, _: Sweep) -> None:
        """Keep the label that was shown."""
        self.shown.append(shown.last.label)

    def ring(self, bell: Bell) -> None:
        """Hear nothing."""

    def ask_note(self, _: Last) -> str:
        """Never asked."""
        return ""

    def trouble(self, error: WiremapError) -> None:
        """Keep what was said."""
        self.troubles.append(f"{error.what} {error.hint}")

    def clock(self) -> float:
        """Return the time, a moment later at every look."""
        self.seconds += 0.05
        return self.seconds


def test_a_lot_goes_on_after_a_cable_that_breaks_the_program(home: Path) -> None:
    """Of three cables the second has no verdict and is kept aside; the third gets the label that stayed free."""
    hands = Hands()
    run_sweep(Sweep(Plan(Labels("R-"), None, SIDES, None), {}, 1), hands, hands, hands, hands.clock)
    assert hands.measured == 3
    assert hands.shown == ["R-001", "R-002"]
    (trouble,) = hands.troubles
    assert "wiremap itself failed (KeyError: 'near 9')" in trouble
    assert from_json((kept(home) / "reading.json").read_bytes()) == reading()
