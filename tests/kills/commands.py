"""Commands that are killed, or whose disk is full, at any step: what was said is kept, nothing is half there, and the
next start goes on.

Each function takes a folder, a seed, how many processes meet their fate, and whether they are killed or refused room;
it returns what it saw, in one line.
"""

import json
import shutil
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.bench.lots import STRAIGHT
from tests.bench.world import Cable
from tests.firmware_sim.simulators import simulator
from tests.kills.steps import KILLED, REFUSED, Ended, Fate, fates, make_old, parts, run
from wiremap.bench.lot_book import LotBook
from wiremap.bench.sweep_events import KeepRecord, Outcome
from wiremap.judge.case import JobNames, judge_case
from wiremap.records.captures.files import load
from wiremap.records.lots.held import held
from wiremap.records.lots.ledger import LEDGER, check_chain, open_ledger
from wiremap.records.lots.ledger_entry import FORMAT, Entry
from wiremap.records.lots.plan import LotPlan

Prepare = Callable[[Path], None]
FAULTS = ("none", "exchanged", "none")
TEST = ("test", "--expect", "straight", "--json", "--tester")
CALIBRATE = ("calibrate", "--json", "--tester")


class Trial:
    """One command that meets its fate again and again, each time on a disk that stands as it did."""

    def __init__(self, folder: Path, words: tuple[str, ...], prepare: Prepare = lambda _: None) -> None:
        """Make it; prepare: puts on a disk what stands there before the command; called once."""
        self.disk, self.first = folder / "disk", folder / "first"
        self.first.mkdir(parents=True)
        prepare(self.first)
        self.words = words
        self.goes_on = False  # whether the next start is tried after this end; it takes as long as all the rest
        self.seen: Counter[str] = Counter()
        began = time.monotonic()
        whole = self.run(None)
        assert whole.code == 0, whole.err
        self.steps = len(whole.steps)
        self._whole_s = time.monotonic() - began
        assert self.steps >= 5, f"only {whole.steps!r} was counted"

    def run(self, fate: Fate | None) -> Ended:
        """Run the command on the disk as it was at first."""
        shutil.rmtree(self.disk, ignore_errors=True)
        shutil.copytree(self.first, self.disk)
        return self.again(fate)

    def again(self, fate: Fate | None = None, *words: str) -> Ended:
        """Run the command, or another one, on the disk as it is."""
        return run(self.disk, fate, *(word.format(disk=self.disk) for word in words or self.words))

    def ended(self, seed: int, count: int, killed: bool) -> Iterator[Ended]:
        """Give each end of the command."""
        for number, fate in enumerate(fates(seed, count, self.steps, KILLED if killed else REFUSED, self._whole_s)):
            self.goes_on = number % 3 == 2
            found = self.run(fate)
            kind = "died" if found.code < 0 else "refused" if found.code else "ended"
            assert killed or kind != "died"
            assert found.code in (-9, 0, 3, 6), (fate, found)
            self.seen[kind] += 1
            if fate.at is not None and killed:
                assert kind == "died", (fate, found)
            yield found

    def said(self) -> str:
        """Return how the processes ended."""
        return f"{self.steps} steps; " + ", ".join(f"{count} {kind}" for kind, count in sorted(self.seen.items()))


def saves(folder: Path, seed: int, count: int, killed: bool = True) -> str:
    """Try `test --save`: a capture that was reported is there, whole; its name is free or has a whole capture."""
    with simulator() as (address, _):
        return _saves(Trial(folder, (*TEST, address, "--save", "{disk}/a.json")), seed, count, killed)


def _saves(trial: Trial, seed: int, count: int, killed: bool) -> str:
    target = trial.disk / "a.json"
    rescued = 0
    for ended in trial.ended(seed, count, killed):
        if target.exists():
            assert load(target).capture is not None
        if ended.code == 0:
            assert target.exists(), "it was said to be kept"
        elif not killed and not target.exists() and '"verdict"' in ended.out:
            found = [path for path in trial.disk.rglob("*.json") if path.parent.name in ("rescued", "spare")]
            assert all(load(path).capture is not None for path in found)
            rescued += len(found)
            assert found or "cannot be written" in ended.err, ended
        if not trial.goes_on:
            continue
        make_old(trial.disk)
        again = trial.again(None, *trial.words[:-1], "{disk}/b.json")
        assert again.code == 0, again.err
        assert load(trial.disk / "b.json").capture is not None
        assert not parts(trial.disk)
    return trial.said() + (f", {rescued} captures rescued" if rescued else "")


def calibrations(folder: Path, seed: int, count: int, killed: bool = True) -> str:
    """Try `calibrate`: the calibration before or the new one stands, whole, and the one that was said to be kept."""
    with simulator(cable="empty") as (address, _):
        words = (*CALIBRATE, address)
        (kept,) = (Trial(folder / "empty", words).disk / "home" / "calibrations").iterdir()

        def prepare(disk: Path) -> None:
            (disk / "home" / "calibrations").mkdir(parents=True)
            shutil.copy(kept, disk / "home" / "calibrations")

        return _calibrations(Trial(folder, words, prepare), kept.name, kept.read_bytes(), seed, count, killed)


def _calibrations(trial: Trial, name: str, before: bytes, seed: int, count: int, killed: bool) -> str:
    kept = trial.disk / "home" / "calibrations" / name
    new = 0
    for ended in trial.ended(seed, count, killed):
        content = kept.read_bytes()
        json.loads(content)
        if ended.code == 0:
            assert content != before, "it was said to be kept"
        new += content != before
        if trial.goes_on:
            make_old(trial.disk)
            assert trial.again().code == 0
            assert not parts(trial.disk)
    return trial.said() + f", {new} new ones in place"


def fill(folder: Path) -> None:
    """Keep a lot of a few tests."""
    with open_ledger(folder) as ledger:
        book = LotBook(ledger, folder.name, LotPlan(), None)
        for number, fault in enumerate(FAULTS):
            case = judge_case(Cable(number, fault).reading(60 * number), STRAIGHT, JobNames())
            outcome = Outcome(case.diagnosis.verdict, frozenset(), case)
            book.record(KeepRecord(outcome, f"R-{number}", None, False, number + 1, 100))


def _lot(disk: Path) -> None:
    fill(disk / "home" / "lots" / "rack")


def rebuilds(folder: Path, seed: int, count: int, killed: bool = True) -> str:
    """Try `lots --rebuild`: the ledger is the old one or the new one, whole, and what is set aside is the old one."""
    trial = Trial(folder, ("lots", "rack", "--rebuild", "--json"), _noted)
    lot = trial.disk / "home" / "lots" / "rack"
    old, new = ((disk / "home" / "lots" / "rack" / LEDGER).read_bytes() for disk in (trial.first, trial.disk))
    made_again = 0
    for _ in trial.ended(seed, count, killed):
        stands = (lot / LEDGER).read_bytes()
        assert stands in (old, new), "neither the ledger before nor the one after"
        made_again += stands == new
        for aside in lot.glob("ledger-set-aside-*"):
            assert aside.read_bytes() == old
        assert stands == old or list(lot.glob("ledger-set-aside-*")), "the ledger before is gone"
        if trial.goes_on:
            assert trial.again().code == 0, "the next one could not make it again"
            assert (lot / LEDGER).read_bytes() == new
            assert not parts(lot)
    return trial.said() + f", {made_again} made again"


def _noted(disk: Path) -> None:
    """Keep a lot whose ledger says more than its captures."""
    _lot(disk)
    with open_ledger(disk / "home" / "lots" / "rack") as ledger:
        ledger.append(Entry(FORMAT, "note", 0, "2026-03-01T08:00:00Z", label="R-1", of=2, text="kinked"))


def closes(folder: Path, seed: int, count: int, killed: bool = True) -> str:
    """Try `lots --close`: an end that was said is there, whole and signed; the lot stays sound and can be closed."""
    trial = Trial(folder, ("lots", "rack", "--close", "--json"), _lot)
    lot = trial.disk / "home" / "lots" / "rack"
    closed = 0
    for ended in trial.ended(seed, count, killed):
        check_chain((lot / LEDGER).read_bytes().splitlines(keepends=True), "ledger")
        before = [end.state for end in held(lot, {}).ends]
        assert before in ([], ["holds"])
        assert before or ended.code != 0, "it was said to be closed"
        closed += len(before)
        if trial.goes_on:
            make_old(trial.disk)
            after = trial.again()
            assert after.code == 0, after.err
            assert [end.state for end in held(lot, {}).ends] == ["holds"] * (len(before) + 1)
            assert not parts(trial.disk)
    return trial.said() + f", {closed} closed"


COMMANDS = {"saves": saves, "calibrations": calibrations, "rebuilds": rebuilds, "closes": closes}
