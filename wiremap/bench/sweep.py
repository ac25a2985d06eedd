"""A lot of cables, one after the other, as a pure state machine: events in, the next state and what to do out.

It holds to one rule above all: a verdict belongs to the cable that is in the sockets. So a test counts only when
the same contacts are joined before and after it, a verdict is shown only when it is recorded, and after a
verdict, a stop or a lost line the cable must come out before another one is tested.
"""

from collections.abc import Mapping, Set
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from wiremap.bench.stable import NOT_SEATED_S, Steady, after, seat
from wiremap.bench.sweep_events import (
    AskNote,
    Back,
    Broken,
    DeskKey,
    KeepRecord,
    Labelled,
    Labels,
    Last,
    Looked,
    Lost,
    Measure,
    NoRoom,
    Outcome,
    Plan,
    Pressed,
    Recorded,
    Ring,
    Show,
    Skip,
    Stop,
    SweepAction,
    SweepEvent,
    Undo,
    WasMeasured,
)
from wiremap.reading.joined import Joined

Phase = Literal[
    "clear",
    "waiting",
    "seating",
    "not-seated",
    "measuring",
    "checking",
    "recording",
    "label",
    "known-label",
    "shown",
    "reference",
    "lost",
    "full",
    "done",
]
ASK_AGAIN = 10  # insertions until a reference cord that was put off is asked for again


class Sweep(Struct, frozen=True):
    """Where the lot stands.

    labels: of every cable tested so far, with the number of its newest test. skipped: labels that stay unused.
    said: one word on why it is in this phase, for the page: "moved", "back", "retest", "labelled", "undone",
        "before" (a retest was taken back), "skipped", "nothing", "out", "broken" or "".
    accepted: what was joined when the plug was called not seated. tested: the same when the measurement began.
    label, of: what the next test will be entered as; None = not known yet, not a retest.
    forced: somebody asked for this test with a key, so that contacts which keep changing do not stop it.
    after_verdict: the cable in the sockets has its verdict and must come out.
    """

    plan: Plan
    labels: Mapping[str, int]
    next_number: int
    skipped: Set[str] = frozenset()
    phase: Phase = "clear"
    said: str = ""
    steady: Steady | None = None
    accepted: Joined = frozenset()
    tested: Joined = frozenset()
    outcome: Outcome | None = None
    label: str | None = None
    of: int | None = None
    reference: bool = False
    forced: bool = False
    after_verdict: bool = False
    last: Last | None = None
    insertion: int = 0
    reference_due: int = 0

    @property
    def complete(self) -> bool:
        """Whether every cable of the lot has been tested at least once."""
        return self.plan.count is not None and len(self.labels) >= self.plan.count


def running_label(sweep: Sweep) -> str:
    """Return the next label of a running scheme."""
    return _label(sweep.plan.labels, sweep.next_number)


def step(sweep: Sweep, event: SweepEvent) -> tuple[Sweep, tuple[SweepAction, ...]]:
    """Return the next state and what is to be done now."""
    match event:
        case Lost():
            return _lost(sweep), ()
        case Back():
            phase: Phase = "clear" if sweep.after_verdict else "seating"
            return replace(sweep, phase=phase, said="back", steady=None), ()
        case NoRoom():
            return replace(sweep, phase="full", outcome=None, steady=None), ()
        case Broken():
            aside = replace(sweep, phase="clear", said="broken", outcome=None, steady=None, label=None, of=None)
            return replace(aside, reference=False), (Ring("undecided"),)
        case Looked(joined, at_s):
            return _looked(replace(sweep, steady=after(sweep.steady, joined, at_s)))
        case WasMeasured(outcome):
            if sweep.phase != "measuring":
                return sweep, ()
            return replace(sweep, phase="checking", outcome=outcome), ()
        case Recorded(number):
            return _recorded(sweep, number)
        case Labelled(label):
            return _labelled(sweep, label)
        case Pressed(key):
            return _pressed(sweep, key)


def _lost(sweep: Sweep) -> Sweep:
    """Forget what was meant for the cable at hand: it may be another one when the tester is back."""
    stands = sweep.reference or sweep.phase in ("shown", "clear") or (sweep.phase == "lost" and sweep.after_verdict)
    return replace(
        sweep, phase="lost", said="", after_verdict=stands, outcome=None, label=None, of=None, reference=False
    )


def _looked(sweep: Sweep) -> tuple[Sweep, tuple[SweepAction, ...]]:
    steady = sweep.steady
    assert steady is not None
    empty = steady.joined == frozenset()
    if sweep.phase in ("clear", "shown"):
        return (_waiting(sweep), ()) if empty and steady.looks >= 2 else (sweep, ())
    if sweep.phase in ("waiting", "done"):
        if empty or sweep.phase == "done":
            return sweep, ()
        return replace(sweep, phase="seating", said="", insertion=sweep.insertion + 1, accepted=frozenset()), ()
    if sweep.phase == "checking":
        return _checked(sweep)
    if sweep.phase in ("label", "known-label") and steady.joined != sweep.tested:
        return replace(sweep, said="out"), ()
    if sweep.phase not in ("seating", "not-seated"):
        return sweep, ()
    if empty:
        return (_waiting(sweep), ()) if steady.looks >= 2 else (sweep, ())
    if not steady.settled:
        return replace(sweep, phase="seating"), ()
    if seat(steady.joined, sweep.plan.sides) == "in":
        return _measure(sweep)
    if sweep.phase == "not-seated":
        return sweep, ()
    if sweep.accepted == steady.joined:
        return _measure(sweep)
    if steady.age_s < NOT_SEATED_S:
        return sweep, ()
    return replace(sweep, phase="not-seated", accepted=steady.joined), (Ring("not-seated"),)


def _waiting(sweep: Sweep) -> Sweep:
    plan = sweep.plan
    said = "retest" if sweep.of is not None else "labelled" if sweep.label is not None else ""
    idle = replace(sweep, phase="waiting", said=said, outcome=None, accepted=frozenset(), after_verdict=False)
    if plan.reference_every is not None and sweep.insertion >= sweep.reference_due:
        return replace(idle, phase="reference")
    if sweep.complete and sweep.of is None:
        return replace(idle, phase="done")
    return idle


def _measure(sweep: Sweep, forced: bool = False) -> tuple[Sweep, tuple[SweepAction, ...]]:
    assert sweep.steady is not None
    joined = sweep.steady.joined
    return replace(sweep, phase="measuring", said="", tested=joined, steady=None, forced=forced), (Measure(),)


def _checked(sweep: Sweep) -> tuple[Sweep, tuple[SweepAction, ...]]:
    """Let a test count only when the cable sat still from before it until after it.

    One whose contacts keep changing is tested when somebody asks for it, and never passes so.
    """
    assert sweep.steady is not None
    assert sweep.outcome is not None
    still = sweep.steady.joined == sweep.tested == sweep.outcome.joined
    out = frozenset() in (sweep.steady.joined, sweep.outcome.joined)
    if not still and (out or not sweep.forced or sweep.outcome.verdict == "pass"):
        return replace(sweep, phase="seating", said="moved", outcome=None, steady=None), (Ring("moved"),)
    if sweep.reference:
        return _record(sweep, "", None)
    if sweep.label is not None:
        return _record(sweep, sweep.label, sweep.of)
    if sweep.plan.labels.scanned:
        return replace(sweep, phase="label"), ()
    return _record(sweep, running_label(sweep), None)


def _record(sweep: Sweep, label: str, of: int | None) -> tuple[Sweep, tuple[SweepAction, ...]]:
    assert sweep.outcome is not None
    due = sweep.insertion + (sweep.plan.reference_every or 0) if sweep.reference else sweep.reference_due
    ready = replace(sweep, phase="recording", label=label, of=of)
    return ready, (KeepRecord(sweep.outcome, label, of, sweep.reference, sweep.insertion, due),)


def _recorded(sweep: Sweep, number: int) -> tuple[Sweep, tuple[SweepAction, ...]]:
    outcome = sweep.outcome
    if sweep.phase != "recording" or outcome is None or sweep.label is None:
        return sweep, ()
    last = Last(number, sweep.label, outcome.verdict, sweep.of)
    said = "out" if sweep.said == "out" else ""
    shown = replace(sweep, phase="shown", said=said, last=last, label=None, of=None, reference=False, steady=None)
    if sweep.reference:
        every = sweep.plan.reference_every or ASK_AGAIN
        shown = replace(shown, reference_due=sweep.insertion + every)
    else:
        labels = {**sweep.labels, last.label: number}
        shown = replace(shown, labels=labels)
        shown = replace(shown, next_number=free(shown, sweep.next_number))
    return shown, (Show(last, outcome), Ring(outcome.verdict))


def free(sweep: Sweep, number: int) -> int:
    """Return the first number from this one on whose label is neither used nor skipped."""
    while (label := _label(sweep.plan.labels, number)) in sweep.labels or label in sweep.skipped:
        number += 1
    return number


def _label(scheme: Labels, number: int) -> str:
    return f"{scheme.prefix}{number:0{scheme.digits}d}"


def _labelled(sweep: Sweep, label: str) -> tuple[Sweep, tuple[SweepAction, ...]]:
    """Take a label: of a new cable for the next test, or, after a look at the question, of one to be tested again."""
    label = label.strip()
    if not label or sweep.phase in ("recording", "lost", "full", "reference"):
        return sweep, ()
    if label in sweep.labels:
        if sweep.phase == "label":
            return replace(sweep, phase="known-label", label=label), ()
        again = replace(sweep, label=label, of=sweep.labels[label], said="retest")
        return (replace(again, phase="waiting") if sweep.phase == "done" else again), ()
    named = replace(sweep, label=label, of=None, said="out" if sweep.said == "out" else "labelled")
    if sweep.phase in ("label", "known-label"):
        return _record(named, label, None)
    return named, ()


def _pressed(sweep: Sweep, key: DeskKey) -> tuple[Sweep, tuple[SweepAction, ...]]:
    if key == "stop":
        return sweep, (Stop(),)
    if key == "note":
        return sweep, (AskNote(sweep.last),) if sweep.last is not None else ()
    if key == "undo":
        return _undone(sweep)
    if key == "skip":
        return _skipped(sweep)
    if sweep.phase == "full":
        return replace(sweep, phase="seating", steady=None), ()
    if key == "retest":
        return _again(sweep)
    if sweep.phase == "reference":
        return replace(sweep, phase="seating", reference=True, steady=None), ()
    if sweep.phase == "known-label":
        assert sweep.label is not None
        return _record(sweep, sweep.label, sweep.labels[sweep.label])
    if sweep.phase == "shown":
        return _again(sweep)
    if sweep.phase == "done":
        return replace(sweep, phase="seating", plan=replace(sweep.plan, count=None), steady=None), ()
    if sweep.phase in ("waiting", "seating", "not-seated") and sweep.steady is not None:
        if sweep.steady.joined == frozenset() and sweep.said != "nothing":
            return replace(sweep, said="nothing"), ()
        return _measure(sweep, forced=True)
    return sweep, ()


def _again(sweep: Sweep) -> tuple[Sweep, tuple[SweepAction, ...]]:
    """Test the last cable again: at once when it is still in, else the cable that comes next."""
    last = sweep.last
    if last is None or last.label not in sweep.labels:
        return sweep, ()
    armed = replace(sweep, label=last.label, of=sweep.labels[last.label], said="retest")
    if sweep.phase == "shown" and sweep.steady is not None and sweep.steady.joined != frozenset():
        return _measure(armed)
    if sweep.phase in ("waiting", "done"):
        return replace(armed, phase="waiting"), ()
    return sweep, ()


def _undone(sweep: Sweep) -> tuple[Sweep, tuple[SweepAction, ...]]:
    """Take the last label back: it is free again, or, after a retest, belongs to the test before."""
    last = sweep.last
    if last is None or last.label not in sweep.labels or sweep.phase not in ("clear", "shown", "waiting", "done"):
        return sweep, ()
    labels = {label: number for label, number in sweep.labels.items() if label != last.label}
    if last.of is not None:
        labels[last.label] = last.of
    said = "undone" if last.of is None else "before"
    back = replace(sweep, labels=labels, last=None, said=said, label=None, of=None)
    back = replace(back, next_number=free(back, sweep.plan.labels.first))
    return (replace(back, phase="waiting") if sweep.phase == "done" else back), (Undo(last),)


def _skipped(sweep: Sweep) -> tuple[Sweep, tuple[SweepAction, ...]]:
    if sweep.phase == "reference":
        return _waiting(replace(sweep, reference_due=sweep.insertion + ASK_AGAIN)), ()
    if sweep.phase == "label":  # the cable goes away without a label: nothing of it is kept
        return replace(sweep, phase="clear", outcome=None), ()
    if sweep.phase not in ("waiting", "shown") or sweep.plan.labels.scanned:
        return sweep, ()
    if sweep.label is not None:
        return replace(sweep, label=None, of=None, said=""), ()
    label = running_label(sweep)
    skipped = replace(sweep, skipped=sweep.skipped | {label}, said="skipped")
    return replace(skipped, next_number=free(skipped, sweep.next_number)), (Skip(label),)
