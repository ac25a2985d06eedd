"""A lot that is swept without a tester: events in, actions out, by a clock of its own."""

from wiremap.bench.sweep import Sweep, step
from wiremap.bench.sweep_events import (
    KeepRecord,
    Labels,
    Looked,
    Measure,
    Outcome,
    Plan,
    Recorded,
    SweepAction,
    SweepEvent,
    WasMeasured,
)
from wiremap.judge.findings import Verdict
from wiremap.reading.joined import Joined

SIDES = (tuple(range(8)), tuple(range(9, 17)))
GOOD = frozenset((contact, contact + 9) for contact in range(8))
EDGE = frozenset((contact, contact + 9) for contact in range(7))
CROSSED = frozenset({(0, 10), (1, 9)} | {(contact, contact + 9) for contact in range(2, 8)})
NOTHING: frozenset[tuple[int, int]] = frozenset()


class Lot:
    """A sweep with a clock: feeds events and collects what is to be done."""

    def __init__(self, plan: Plan | None = None, labels: dict[str, int] | None = None) -> None:
        plan = plan or Plan(Labels("RACK-"), None, SIDES, None)
        self.sweep = Sweep(plan, labels or {}, 1)
        self.now_s = 0.0
        self.done: list[SweepAction] = []
        self.number = 100

    def phase(self) -> str:
        """Return the phase it is in."""
        return self.sweep.phase

    def said(self) -> str:
        """Return the word on why."""
        return self.sweep.said

    def feed(self, *events: SweepEvent) -> tuple[SweepAction, ...]:
        """Feed events; return what is to be done after the last."""
        actions: tuple[SweepAction, ...] = ()
        for event in events:
            self.sweep, actions = step(self.sweep, event)
            self.done += actions
        return actions

    def look(self, joined: Joined, for_s: float = 0.0) -> tuple[SweepAction, ...]:
        """Look every 50 ms for so long, at least once; return what is to be done in the end."""
        end_s = self.now_s + for_s
        actions: tuple[SweepAction, ...] = ()
        while True:
            self.now_s += 0.05
            actions = actions + self.feed(Looked(joined, self.now_s))
            if self.now_s >= end_s or Measure() in actions:
                return actions

    def empty(self) -> None:
        """Take out whatever is in."""
        self.look(NOTHING, 0.2)

    def test(self, joined: Joined = GOOD, verdict: Verdict = "pass") -> KeepRecord:
        """Put a cable in, and measure it; return what is to be recorded."""
        assert Measure() in self.look(joined, 1.0)
        (record,) = self.measured(joined, verdict)
        assert isinstance(record, KeepRecord)
        return record

    def measured(self, joined: Joined = GOOD, verdict: Verdict = "pass") -> tuple[SweepAction, ...]:
        """Finish the measurement, and look at the cable after it."""
        self.feed(WasMeasured(Outcome(verdict, joined)))
        return self.look(joined)

    def keep(self) -> tuple[SweepAction, ...]:
        """Record the test; return what is to be done then."""
        self.number += 1
        return self.feed(Recorded(self.number))

    def cable(self, joined: Joined = GOOD, verdict: Verdict = "pass") -> KeepRecord:
        """Take one cable the whole way and out again."""
        self.empty()
        record = self.test(joined, verdict)
        self.keep()
        self.empty()
        return record
