"""How long a technician waits for a verdict, beside the tester's own time, at real pace: prints both and the ratio.

`python -m tests.benchmarks.batch [COUNT [SECONDS [BOARD]]]`: a lot of so many cables, 6 unless told otherwise (a whole
one has 48), each 7 s in the sockets unless told otherwise, on the reference board or `bench`. The bench board's model
works longer at a cable than the board would: it wants more seconds, and a computer with nothing else to do.

Waiting: from the first look that saw the cable as it then stayed (its last bounce is over) until its verdict is on
the disk and shown. The tester's own: the questions of the measurement and of the look after it, line time included.
"""

import itertools
import statistics
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from wiremap.bench.driver import run_sweep
from wiremap.bench.lot_book import LotBook, resumed
from wiremap.bench.sockets import TesterSockets, sides
from wiremap.bench.sweep import Sweep
from wiremap.bench.sweep_events import Bell, Labelled, Labels, Last, Outcome, Plan, Pressed, Show
from wiremap.cable.patterns import pattern
from wiremap.errors import WiremapError
from wiremap.judge.case import JobNames, Requirements, judge_case
from wiremap.judge.findings import Verdict
from wiremap.reading.joined import Joined
from wiremap.reading.reading import Reading
from wiremap.records.lots.ledger import open_ledger
from wiremap.records.lots.plan import LotPlan

CABLES = ("patch", "far-3-6-exchanged", "patch", "short-two", "patch", "rolled-plug")
FIRST_S, OUT_S = 8.0, 2.0
COUNT, IN_S, BOARD = 6, 7.0, "reference"
TIMES: list[float] = []
WANTED = Requirements(expect=pattern("straight"))


def lot(folder: Path, count: int, in_s: float, board: str) -> Path:
    """Write a lot for the simulator, at real pace."""
    parts = [f'format = 1\nboard = "{board}"\nseed = 7\n[line]\npace = "real"\n']
    for number, cable in zip(range(count), itertools.cycle(CABLES)):
        plug_s = FIRST_S + number * (in_s + OUT_S)
        parts.append(
            f'[[bench]]\ncable = "{cable}"\nplug_at_s = {plug_s}\nbounce_ms = 120\nunplug_at_s = {plug_s + in_s}\n'
        )
    path = folder / "lot.toml"
    path.write_text("\n".join(parts))
    return path


class Stopwatch(TesterSockets):
    """The tester's sockets, with the moment of the last change seen, and the tester's own time for the cable in hand.

    The tester's own time is that of the measurement, without judging, and of the look after it.
    """

    seen: Joined = frozenset()
    seen_s = 0.0
    began_s = 0.0
    own_s = 0.0
    checking = False

    def look(self) -> Joined:
        """Look, and note when what is joined changed."""
        began_s = time.monotonic()
        joined = super().look()
        if self.checking:
            self.own_s += time.monotonic() - began_s
            self.checking = False
        if joined != self.seen:
            self.seen, self.seen_s = joined, time.monotonic()
        return joined

    def measure(self) -> Outcome:
        """Measure, and note how long the tester took."""
        self.began_s = time.monotonic()
        outcome = super().measure()
        self.own_s = time.monotonic() - self.began_s - TIMES[-1]
        self.checking = True
        return outcome


class Desk:
    """Notes when verdicts are shown, and stops after the last."""

    def __init__(self, sockets: Stopwatch, count: int) -> None:
        self._sockets = sockets
        self._count = count
        self.waits: list[tuple[float, float, float]] = []

    def heard(self, wait_s: float) -> Sequence[Pressed | Labelled]:
        """Wait; press nothing until the lot is done."""
        time.sleep(wait_s)
        return [Pressed("stop")] if len(self.waits) == self._count else []

    def page(self, sweep: Sweep) -> None:
        """Show nothing."""
        assert sweep.plan.count == self._count

    def verdict(self, shown: Show, sweep: Sweep) -> None:
        """Note the times."""
        assert sweep.last == shown.last
        now_s = time.monotonic()
        sockets = self._sockets
        self.waits.append((now_s - sockets.seen_s, now_s - sockets.began_s, sockets.own_s))
        print(
            f"{shown.last.label} {shown.last.verdict:<9} waited {self.waits[-1][0]:.2f} s, "
            f"measuring and keeping {self.waits[-1][1]:.2f} s, the tester's own {self.waits[-1][2]:.2f} s"
        )

    def ring(self, bell: Bell) -> None:
        """Ring nothing."""
        assert bell

    def ask_note(self, last: Last) -> str:
        """Ask nothing."""
        return f"{last.label}: nothing"

    def trouble(self, error: WiremapError) -> None:
        """Say it."""
        print(error.what)


def judge(reading: Reading) -> tuple[Verdict, object]:
    """Judge as `wiremap batch` does, and note how long that took."""
    began_s = time.monotonic()
    case = judge_case(reading, WANTED, JobNames())
    TIMES.append(time.monotonic() - began_s)
    return case.diagnosis.verdict, case


def main() -> None:
    """Sweep a lot at real pace and print the ratio."""
    given = sys.argv[1:]
    count = int(given[0]) if given else COUNT
    in_s = float(given[1]) if given[1:] else IN_S
    board = given[2] if given[2:] else BOARD
    with (
        tempfile.TemporaryDirectory() as folder,
        open_ledger(Path(folder) / "lot") as ledger,
        Stopwatch(f"sim:{lot(Path(folder), count, in_s, board)}", judge) as sockets,
    ):
        plan = Plan(Labels("R-"), count, sides(WANTED.expect), None)
        book = LotBook(ledger, "lot", LotPlan(), None)
        desk = Desk(sockets, count)
        run_sweep(resumed(ledger.entries, plan), sockets, book, desk, time.monotonic)
    ratio = statistics.median(waited / own for waited, _, own in desk.waits)
    beside = sorted(waited - own for waited, _, own in desk.waits)
    print(f"beside the tester's own time: median {statistics.median(beside):.2f} s, longest {beside[-1]:.2f} s")
    print(f"ratio {ratio:.2f} (median of {len(desk.waits)}; at most 1.2)")


if __name__ == "__main__":
    main()
