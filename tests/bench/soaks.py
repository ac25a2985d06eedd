"""Long runs in one process on a counted clock: what a cable or an event costs must not grow with how many came before.

What is counted is the same in every run: calls of functions, blocks of memory that are held, files that are open. Times
are for the benchmark, which prints them.
"""

import gc
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from statistics import median
from types import FrameType
from typing import TypeVar, cast

from tests.bench.lots import Desk, Here, Sockets, check_lot, plan_of
from tests.bench.world import World
from wiremap.bench import watcher
from wiremap.bench.driver import run_sweep
from wiremap.bench.lot_book import LotBook, resumed
from wiremap.bench.sweep import Sweep
from wiremap.bench.sweep_events import Show
from wiremap.bench.watch import Log, Wanted
from wiremap.bench.watch_page import watch_page
from wiremap.bench.watcher import Heard, watch
from wiremap.cli.keyboard import Keyboard
from wiremap.cli.lot_desk import LotDesk
from wiremap.cli.screen import Screen
from wiremap.contact import Contact
from wiremap.errors import TesterError
from wiremap.judge.findings import Finding
from wiremap.reading.parts import Tester
from wiremap.reading.reading import Reading
from wiremap.records.lots.ledger import open_ledger
from wiremap.records.lots.plan import LotPlan
from wiremap.report.terminal.display import Terminal
from wiremap.report.words.faults import Ends
from wiremap.tester.answers import Answer
from wiremap.tester.line import Line
from wiremap.tester.measure import WATCH, OpenTester

HANDLES = Path("/proc/self/fd")
EVENTS_A_FETCH = 8
T = TypeVar("T")
PAGE = Terminal(80, 24, 256, True)


@dataclass
class Meter:
    """What a run had cost after each of its steps: calls, blocks held, open files, seconds of processor time."""

    counts: bool = True
    calls: list[int] = field(default_factory=list)
    blocks: list[int] = field(default_factory=list)
    handles: list[int] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Begin at nothing."""
        self._called = 0

    @contextmanager
    def running(self) -> Iterator[None]:
        """Count calls while this lasts; without counting the run is as fast as ever."""
        gc.collect()
        if self.counts:
            sys.setprofile(self._count)
        try:
            yield
        finally:
            sys.setprofile(None)

    def _count(self, _frame: FrameType, event: str, _of: object) -> None:
        if event in ("call", "c_call"):
            self._called += 1

    def step(self) -> None:
        """Note that one more step is done."""
        self.calls.append(self._called)
        self.blocks.append(sys.getallocatedblocks())
        self.seconds.append(time.process_time())
        if HANDLES.is_dir():
            self.handles.append(sum(1 for _ in HANDLES.iterdir()))

    def share(self, of: Sequence[float]) -> float:
        """Return what the last third of the steps cost, over what the second fifth of them did."""
        count = len(of)
        first, last = of[2 * count // 5] - of[count // 5], of[-1] - of[2 * count // 3]
        return (last / (count - 1 - 2 * count // 3)) / (first / (2 * count // 5 - count // 5))

    def share_of_time(self) -> float:
        """Return the same of the processor time of a step, of medians, which other work on the machine moves least."""
        each = [after - before for before, after in pairwise(self.seconds)]
        count = len(each)
        return median(each[2 * count // 3 :]) / median(each[count // 5 : 2 * count // 5])

    def check(self, most_blocks_a_step: float) -> str:
        """Hold what was counted against what it may be, and say it."""
        assert len(set(self.handles)) <= 1, f"open files: {sorted(set(self.handles))}"
        count = len(self.calls)
        blocks = (self.blocks[-1] - self.blocks[count // 5]) / (count - count // 5)
        assert blocks <= most_blocks_a_step, f"{blocks:.1f} blocks more a step"
        grown = self.share(self.calls)
        assert grown < 1.1, f"a step takes {grown:.2f} times the calls of one at the beginning"
        calls = self.calls[-1] / count
        return f"{count} steps, {calls:.0f} calls each, x {grown:.3f} at the end; {blocks:.1f} blocks kept a step"


class _Screen(Screen):
    """A terminal that keeps the newest page."""

    def __init__(self) -> None:
        super().__init__(False)
        self.draws = True
        self.pages = 0
        self.text = ""

    @property
    def terminal(self) -> Terminal:
        """Return one of the usual size, with colours."""
        return PAGE

    def page(self, text: str) -> None:
        """Show a page."""
        self.pages += text != self.text
        self.text = text


class _SoakDesk(Desk):
    """The world's hands, before the page that a terminal shows of the lot."""

    def __init__(self, bench: Here, book: LotBook, meter: Meter) -> None:
        super().__init__(bench)
        self._shown = LotDesk("rack", book, Keyboard(), False, False)
        self.screen = _Screen()
        self._shown._screen = self.screen
        self._meter = meter

    def page(self, sweep: Sweep) -> None:
        """Draw the page, as a terminal has it, and let the hands do what it says."""
        self._shown.page(sweep)
        super().page(sweep)

    def verdict(self, shown: Show, sweep: Sweep) -> None:
        """Show a verdict; a cable is done."""
        self._shown.verdict(shown, sweep)
        super().verdict(shown, sweep)
        self._meter.step()


def lot_soak(seed: int, count: int, meter: Meter) -> str:
    """Sweep a lot of so many cables with the driver, judge, captures, ledger and page of the command."""
    world = World(count, seed)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with open_ledger(folder) as ledger, meter.running():
            book, bench = LotBook(ledger, "rack", LotPlan(), None), Here(world)
            desk = _SoakDesk(bench, book, meter)
            start = resumed(ledger.entries, plan_of(world), None)
            run_sweep(start, Sockets(bench, world.rack), book, desk, lambda: bench.call("clock"))
        assert f"{count} cables" in desk.screen.text or f"{count} of {count}" in desk.screen.text, desk.screen.text
        return check_lot(world, folder)


class _Chattering:
    """A line to a tester on whose cable two contacts come and go without end, and the clock, which goes on with it.

    Each tenth opening still lasts when it is fetched, and comes again with its length. One contact opened at the start
    and stays open.
    """

    def __init__(self) -> None:
        self.seconds = 0.0
        self._number = 0
        self._event = 0
        self._waiting: list[tuple[int, int, int]] = []

    def clock(self) -> float:
        """Return the seconds that have gone by."""
        return self.seconds

    def ask(self, header: str, *given: int | str, parse: Callable[[Answer], T], timeout_s: float) -> T:
        """Answer what a watch asks."""
        assert timeout_s > 0
        if header == "WATCh:STARt?":
            self._number = self._event = 0
            return parse(_answer(18, *(f"#H{1 << i | 1 << (i + 9) % 18:X}" for i in range(18))))
        if header == "WATCh:STOP?":
            return parse(_answer())
        assert header == "FETCh:EVENt?", (header, given)
        self.seconds += 0.05
        fields: list[object] = []
        ended, self._waiting = self._waiting, []
        if not self._number:
            self._number += 1
            fields += [self._number, 3, 12, "OPEN", 1, "9.91E37"]
        for a, at_us, for_us in ended:
            self._number += 1
            fields += [self._number, a, a + 9, "OPEN", at_us, for_us]
        for _ in range(EVENTS_A_FETCH):
            self._event += 1
            self._number += 1
            a, at_us = 1 + self._event % 2, 1000 * self._event
            lasts = self._event % 10 == 0
            fields += [self._number, a, a + 9, "OPEN", at_us, "9.91E37" if lasts else 400]
            if lasts:
                self._waiting.append((a, at_us, 400))
        return parse(_answer(self._number, 0, len(fields) // 6, *fields, 0))


def _answer(*fields: object) -> Answer:
    return Answer(1, "OK", tuple(map(str, fields)), b"")


class _WatchDesk:
    """Shows the page of a watch, as a terminal has it; each page is a step."""

    def __init__(self, meter: Meter) -> None:
        self._meter = meter
        self.text = ""

    def heard(self, wait_s: float) -> Sequence[Heard]:
        """Nothing is pressed."""
        assert wait_s > 0
        self._meter.step()
        return ()

    def page(self, log: Log, watched_s: float, looking_at: tuple[Contact, Contact] | None) -> None:
        """Draw the page."""
        self.text = watch_page(log, watched_s, Wanted(60.0, 3), Ends(), PAGE, looking_at)

    def ring(self) -> None:
        """Nobody hears it."""

    def trouble(self, error: TesterError) -> None:
        """Never."""
        raise AssertionError(error)


def watch_soak(count: int, meter: Meter) -> str:
    """Watch a cable of which contacts come and go until so many events were seen, a watch after the other."""
    plug = tuple("12345678S")
    tester = Tester("WIREMAP", "BENCH-18", "W1", "1.0", ("RES", WATCH), 0.02)
    seen = watches = 0
    with meter.running():
        while seen < count:
            line = _Chattering()
            desk = _WatchDesk(meter)
            device = OpenTester(cast(Line, line), tester, plug, plug)
            watched = watch(device, Wanted(0.0, 3), desk, line.clock, _never)
            assert watched.end == "full"
            events = watched.log.events
            assert len(events) >= watcher.MOST_WATCHED
            assert [event.number for event in events] == list(range(1, len(events) + 1))
            assert sum(event.for_us is None for event in events) <= 2
            assert sum(place.count for place in watched.log.places) == len(events)
            assert "opened" in desk.text
            seen += len(events)
            watches += 1
    return f"{seen} events in {watches} watches"


def _never() -> tuple[Reading, Sequence[Finding]]:
    raise AssertionError("this tester measures no capacitance, so no end is looked for")
