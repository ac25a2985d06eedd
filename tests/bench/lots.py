"""Sweeps a world's rack with the real driver, judge, captures and ledger, in this process or in one that is killed."""

import os
import pickle
import random
import signal
import socket
import struct
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Protocol

from tests.bench.world import Cable, Seen, World, sides
from wiremap.bench.driver import run_sweep
from wiremap.bench.lot_book import LotBook, resumed
from wiremap.bench.sweep import Sweep
from wiremap.bench.sweep_events import Bell, Labelled, Labels, Last, Outcome, Plan, Pressed, Show
from wiremap.cable.patterns import pattern
from wiremap.errors import TesterError, WiremapError
from wiremap.judge.case import JobNames, Requirements, judge_case
from wiremap.reading.joined import Joined
from wiremap.records.captures.files import load
from wiremap.records.lots.ledger import LEDGER, open_ledger, read_ledger, rebuild
from wiremap.records.lots.plan import LotPlan

STRAIGHT = Requirements(expect=pattern("straight"))


class Bench(Protocol):
    """What a sweep asks of a world, whether that is in this process or in the one beside it."""

    def call(self, name: str, *given: object) -> Any:
        """Return what the world's method of that name gives."""


class Here:
    """The world in this process."""

    def __init__(self, world: World) -> None:
        self.world = world

    def call(self, name: str, *given: object) -> Any:
        """Call the world."""
        return answered(self.world, name, given)


class Beside:
    """The world in the parent process, asked over a socket; this process may be killed at any moment."""

    def __init__(self, line: socket.socket) -> None:
        self._line = line

    def call(self, name: str, *given: object) -> Any:
        """Call the world."""
        send(self._line, (name, given))
        answer = receive(self._line)
        if isinstance(answer, Exception):
            raise answer
        return answer


def answered(world: World, name: str, given: Sequence[object]) -> Any:
    """Return what a world answers to one call."""
    if name == "clock":
        return world.now_s
    if name == "finished":
        return world.finished
    return getattr(world, name)(*given)


class Sockets:
    """The world's tester as the driver sees it."""

    def __init__(self, bench: Bench, rack: Sequence[Cable]) -> None:
        self._bench = bench
        self._rack = rack

    def look(self) -> Joined:
        """Look at what is joined."""
        joined: Joined = self._bench.call("look")
        return joined

    def measure(self) -> Outcome:
        """Measure and judge."""
        saw, number, at_s = self._bench.call("measure")
        if number < 0:
            raise AssertionError("measured empty sockets")
        case = judge_case(self._rack[number].reading(at_s), STRAIGHT, JobNames())
        return Outcome(case.diagnosis.verdict, saw, case)

    def reopen(self) -> None:
        """Connect again."""
        self._bench.call("reopen")


class Desk:
    """The world's hands as the driver sees them."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench

    def heard(self, wait_s: float) -> Sequence[Pressed | Labelled]:
        """Return what was pressed or scanned."""
        assert wait_s > 0
        if self._bench.call("finished"):
            return [Pressed("stop")]
        keys: Sequence[Pressed | Labelled] = self._bench.call("heard")
        return keys

    def page(self, sweep: Sweep) -> None:
        """Show where the lot stands."""
        self._bench.call("page", sweep.phase, sweep.said)

    def verdict(self, shown: Show, sweep: Sweep) -> None:
        """Show a verdict."""
        assert sweep.last == shown.last
        self._bench.call("verdict", shown.last.number, shown.last.label, shown.last.verdict)

    def ring(self, bell: Bell) -> None:
        """Ring."""
        self._bench.call("ring", bell)

    def ask_note(self, last: Last) -> str:
        """Ask for a note."""
        return f"looked at {last.label}"

    def trouble(self, error: WiremapError) -> None:
        """Say what went wrong."""
        assert isinstance(error, TesterError), error


def plan_of(world: World) -> Plan:
    """Return the plan of a world's lot."""
    labels = Labels(scanned=True) if world.scanned else Labels("RACK-", 4)
    return Plan(labels, world.count, sides(), 100)


def sweep_once(bench: Bench, world: World, folder: Path) -> None:
    """Open the lot, go on with it, and end when the rack is done."""
    with open_ledger(folder) as ledger:
        book = LotBook(ledger, "rack", LotPlan(), None)
        newest = next((entry for entry in reversed(ledger.entries) if entry.insertion is not None), None)
        start = resumed(ledger.entries, plan_of(world), newest)
        run_sweep(start, Sockets(bench, world.rack), book, Desk(bench), lambda: bench.call("clock"))


def sweep_and_kill(world: World, folder: Path, kills: int, seed: int) -> int:
    """Sweep the rack in forked children of this process, each killed (SIGKILL) at a random moment; return the kills.

    The parent is the world. A child dies after a random number of calls and a random part of a millisecond, so that
    deaths fall between measuring, keeping the capture, the ledger's line and the verdict, too.
    """
    draw = random.Random(seed)
    killed = 0
    keeping_s = [0.02]  # how long it lately took from the last look at a cable to its verdict
    while not world.finished:
        mine, theirs = socket.socketpair()
        child = os.fork()
        if child == 0:
            status = 1
            try:
                mine.close()
                sweep_once(Beside(theirs), world, folder)
                status = 0
            finally:
                os._exit(status)
        theirs.close()
        world.restarted()
        last_call = draw.randrange(3, 400) if killed < kills else None
        at_measure = draw.random() < 0.6  # most of what can be lost is lost within milliseconds of a measurement
        ended = _serve(world, mine, child, last_call, at_measure, draw, keeping_s)
        mine.close()
        _, status = os.waitpid(child, 0)
        if ended:
            assert status == 0, f"the sweep ended with status {status}"
        else:
            killed += 1
    return killed


def _serve(
    world: World,
    line: socket.socket,
    child: int,
    last_call: int | None,
    at_measure: bool,
    draw: random.Random,
    keeping_s: list[float],
) -> bool:
    """Answer a child's calls; return whether it ended by itself, False when it was killed."""
    calls = 0
    measured_s = looked_s = 0.0
    while True:
        try:
            name, given = receive(line)
        except EOFError:
            return True
        if name == "verdict" and measured_s:
            keeping_s.append(time.monotonic() - looked_s)
        measured_s, looked_s = (time.monotonic(), 0.0) if name == "measure" else (measured_s, looked_s)
        if name == "look" and measured_s and not looked_s:
            looked_s = time.monotonic()
        try:
            answer = answered(world, name, given)
        except TesterError as error:
            answer = error
        send(line, answer)
        calls += 1
        due = last_call is not None and calls >= last_call and (not at_measure or name == "measure")
        if due:
            while name == "measure" or (at_measure and name != "clock"):  # on past the look after it
                name, given = receive(line)
                send(line, answered(world, name, given))
            time.sleep(draw.uniform(0.0, 1.3 * sum(keeping_s[-5:]) / len(keeping_s[-5:])))
            os.kill(child, signal.SIGKILL)
            _drain(world, line)
            return False


def _drain(world: World, line: socket.socket) -> None:
    """Hear what a killed child said before it died: what it showed has been seen."""
    while True:
        try:
            name, given = receive(line)
        except (EOFError, OSError):
            return
        if name == "verdict":
            world.verdict(*given)


def send(line: socket.socket, message: object) -> None:
    """Send one message."""
    content = pickle.dumps(message)
    line.sendall(struct.pack(">I", len(content)) + content)


def receive(line: socket.socket) -> Any:
    """Receive one message; EOFError when the other side is gone."""
    (length,) = struct.unpack(">I", _exactly(line, 4))
    return pickle.loads(_exactly(line, length))


def _exactly(line: socket.socket, count: int) -> bytes:
    content = b""
    while len(content) < count:
        try:
            more = line.recv(count - len(content))
        except ConnectionError:
            more = b""
        if not more:
            raise EOFError
        content += more
    return content


def check_lot(world: World, folder: Path) -> str:
    """Hold the ledger against what the hands saw: every shown verdict once, none of another cable."""
    entries = read_ledger(folder / LEDGER)
    tests = {entry.number: entry for entry in entries if entry.kind == "test"}
    numbers = [seen.number for seen in world.diary]
    assert len(numbers) == len(set(numbers)), "one line of the ledger was shown for two tests"
    for seen in world.diary:
        entry = tests[seen.number]
        assert (entry.label, entry.verdict) == (seen.label, seen.verdict), (entry, seen)
        cable = world.rack[seen.cable]
        kept = load(folder / "captures" / (entry.file or ""))
        assert kept.reading.resistance_ohm[0][9] in (cable.ohm, "open"), "the capture is of another cable"
        assert entry.contact_ohm == cable.ohm, "the ledger's line is of another cable"
        assert seen.verdict == cable.verdict, f"cable {cable} was called {seen.verdict}"
    _labels_are_unique(list(tests.values()), world.diary)
    everybody = {seen.cable for seen in world.diary}
    assert everybody == set(range(world.count)), "a cable was left out"
    unseen = len(tests) - len(world.diary)
    unshown = sum(entry.kind == "unshown" for entry in entries)
    before = [(entry.label, entry.verdict, entry.contact_ohm) for entry in entries if entry.capture is not None]
    (folder / LEDGER).unlink()
    assert rebuild(folder) == len(before)
    after = [(entry.label, entry.verdict, entry.contact_ohm) for entry in read_ledger(folder / LEDGER)]
    assert after == before, "the ledger made again from the captures differs"
    return (
        f"{len(world.diary)} verdicts shown of {world.count} cables, each in the ledger once and its own cable's; "
        f"killed after the ledger {unseen}, after the capture {unshown}; {world.pulled} pulled in mid-test, "
        f"{world.reseated} not home at first, {world.lost} times unplugged"
    )


def _labels_are_unique(tests: Sequence[Any], diary: Sequence[Seen]) -> None:
    newest: dict[str, int] = {}
    for entry in tests:
        assert entry.of == newest.get(entry.label), f"{entry.label} was used twice without a link"
        newest[entry.label] = entry.number
    owner: dict[str, int] = {}
    for seen in diary:
        assert owner.setdefault(seen.label, seen.cable) == seen.cable, f"two cables were shown {seen.label}"
