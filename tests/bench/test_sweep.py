from msgspec.structs import replace

from wiremap.bench.sweep import Sweep, running_label, step
from wiremap.bench.sweep_events import (
    AskNote,
    Back,
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


def test_the_usual_way_of_a_cable() -> None:
    """Put in, measured, recorded, and only then shown; taken out, the next one gets the next label."""
    lot = Lot()
    lot.empty()
    assert lot.phase() == "waiting"
    record = lot.test()
    assert (record.label, record.of) == ("RACK-001", None)
    assert not any(isinstance(action, Show) for action in lot.done)
    show, ring = lot.keep()
    assert show == Show(Last(101, "RACK-001", "pass"), record.outcome)
    assert ring == Ring("pass")
    assert lot.phase() == "shown"
    lot.look(GOOD, 5.0)
    assert lot.phase() == "shown"
    lot.empty()
    assert (lot.phase(), running_label(lot.sweep)) == ("waiting", "RACK-002")


def test_a_cable_that_is_in_at_the_start_must_come_out() -> None:
    """Nobody knows what is in the sockets when a lot begins or goes on: it must come out first."""
    lot = Lot()
    assert Measure() not in lot.look(GOOD, 5.0)
    assert lot.phase() == "clear"


def test_a_bouncing_plug_is_waited_for() -> None:
    """Nothing is measured while contacts still change."""
    lot = Lot()
    lot.empty()
    for joined in (EDGE, GOOD, EDGE, CROSSED) * 5:
        assert not lot.look(joined, 0.1)
    assert Measure() in lot.look(GOOD, 1.0)


def test_a_plug_that_is_not_home_is_called_out() -> None:
    """Contacts missing from one edge on ring the bell for a plug that is not home, and nothing is measured."""
    lot = Lot()
    lot.empty()
    assert lot.look(EDGE, 1.0) == (Ring("not-seated"),)
    assert lot.look(EDGE, 30.0) == ()
    assert Measure() in lot.look(GOOD, 1.0)


def test_a_plug_pushed_home_that_changes_nothing_is_a_fault_of_the_cable() -> None:
    """When it moved and the same contacts are missing, or somebody says so, the cable is tested as it is."""
    lot = Lot()
    lot.empty()
    lot.look(EDGE, 1.0)
    lot.look(frozenset(list(EDGE)[:3]), 0.1)
    assert Measure() in lot.look(EDGE, 1.0)
    other = Lot()
    other.empty()
    other.look(EDGE, 1.0)
    assert other.feed(Pressed("main")) == (Measure(),)


def test_a_cable_pulled_out_in_mid_test_does_not_count() -> None:
    """What is not the same after the test as before it is never recorded."""
    lot = Lot()
    lot.empty()
    lot.look(GOOD, 1.0)
    lot.feed(WasMeasured(Outcome("pass", GOOD)))
    assert lot.look(NOTHING) == (Ring("moved"),)
    lot.look(NOTHING, 0.2)
    assert lot.phase() == "waiting"
    assert not any(isinstance(action, KeepRecord) for action in lot.done)


def test_a_scan_that_differs_from_the_looks_does_not_count() -> None:
    """A cable changed in mid-test and changed back shows in the scan: it is tested again."""
    lot = Lot()
    lot.empty()
    lot.look(GOOD, 1.0)
    lot.feed(WasMeasured(Outcome("pass", CROSSED)))
    assert lot.look(GOOD) == (Ring("moved"),)
    assert Measure() in lot.look(GOOD, 1.0)


def test_a_cable_whose_contacts_keep_changing_never_passes() -> None:
    """Forced by a key, a cable that changes during its test is recorded when it fails, and never passes."""
    verdicts: list[tuple[Verdict, bool]] = [("fail", True), ("undecided", True), ("pass", False)]
    for verdict, recorded in verdicts:
        lot = Lot()
        lot.empty()
        lot.look(GOOD)
        assert lot.feed(Pressed("main")) == (Measure(),)
        lot.feed(WasMeasured(Outcome(verdict, GOOD)))
        actions = lot.look(CROSSED)
        assert any(isinstance(action, KeepRecord) for action in actions) == recorded


def test_a_cable_that_joins_nothing_is_tested_when_asked_for_twice() -> None:
    """A cable that is open everywhere looks like empty sockets: the key is asked for twice."""
    lot = Lot()
    lot.empty()
    assert lot.feed(Pressed("main")) == ()
    assert lot.said() == "nothing"
    assert lot.feed(Pressed("main")) == (Measure(),)
    (record,) = lot.measured(NOTHING, "fail")
    assert isinstance(record, KeepRecord)


def test_a_voltage_is_measured_so_that_it_is_kept() -> None:
    """A cable that carries a voltage, which the tester refuses to look at, is tested, kept as undecided, and stays
    in the way until it is out.
    """
    lot = Lot()
    lot.empty()
    assert Measure() in lot.look(None, 1.0)
    (record,) = lot.measured(None, "undecided")
    assert isinstance(record, KeepRecord)
    lot.keep()
    lot.look(None, 5.0)
    assert lot.phase() == "shown"


def test_a_label_is_scanned_before_or_after_the_test() -> None:
    """A scanned label counts for the cable in hand, whether it comes first or is asked for after the test."""
    lot = Lot(Plan(Labels(scanned=True), None, SIDES, None))
    lot.empty()
    lot.feed(Labelled("A-1"))
    assert lot.test().label == "A-1"
    lot.keep()
    lot.empty()
    lot.look(GOOD, 1.0)
    assert lot.measured() == ()
    assert lot.phase() == "label"
    (record,) = lot.feed(Labelled(" A-2 "))
    assert isinstance(record, KeepRecord)
    assert record.label == "A-2"


def test_a_label_that_is_on_another_cable_is_asked_about() -> None:
    """A label scanned twice is never given to a second cable unasked: the key says that it is the same cable."""
    lot = Lot(Plan(Labels(scanned=True), None, SIDES, None), {"A-1": 7})
    lot.empty()
    lot.look(GOOD, 1.0)
    lot.measured()
    assert lot.feed(Labelled("A-1")) == ()
    assert lot.phase() == "known-label"
    right = replace(lot.sweep)
    (record,) = lot.feed(Labelled("A-2"))
    assert isinstance(record, KeepRecord)
    assert (record.label, record.of) == ("A-2", None)
    _, (again,) = step(right, Pressed("main"))
    assert isinstance(again, KeepRecord)
    assert (again.label, again.of) == ("A-1", 7)


def test_a_cable_taken_out_before_its_label_was_scanned() -> None:
    """When another cable is in by the time a label comes, the page says whose it is, and that one is not tested yet."""
    lot = Lot(Plan(Labels(scanned=True), None, SIDES, None))
    lot.empty()
    lot.look(GOOD, 1.0)
    lot.measured()
    lot.look(NOTHING)
    lot.look(CROSSED, 3.0)
    assert (lot.phase(), lot.said()) == ("label", "out")
    (record,) = lot.feed(Labelled("A-1"))
    assert isinstance(record, KeepRecord)
    assert record.outcome.joined == GOOD
    lot.keep()
    assert lot.said() == "out"
    assert Measure() not in lot.look(CROSSED, 5.0)


def test_the_last_cable_again() -> None:
    """Retest, or the main key after a verdict, tests the cable that is still in, linked to its test before."""
    for key in (Pressed("retest"), Pressed("main")):
        lot = Lot()
        lot.empty()
        lot.test(verdict="fail")
        lot.keep()
        lot.look(GOOD)
        assert lot.feed(key) == (Measure(),)
        (record,) = lot.measured()
        assert isinstance(record, KeepRecord)
        assert (record.label, record.of) == ("RACK-001", 101)


def test_the_last_cable_again_after_it_was_out() -> None:
    """Retest with empty sockets arms the next cable; skip disarms it."""
    lot = Lot()
    lot.cable(verdict="fail")
    lot.feed(Pressed("retest"))
    assert lot.said() == "retest"
    record = lot.test()
    assert (record.label, record.of) == ("RACK-001", 101)
    lot.keep()
    lot.empty()
    lot.feed(Pressed("retest"), Pressed("skip"))
    assert lot.test().label == "RACK-002"


def test_an_older_cable_again() -> None:
    """A label that is typed names the cable that comes next: one tested before is linked to its newest test."""
    lot = Lot(labels={"RACK-001": 5, "RACK-002": 9})
    lot.empty()
    lot.feed(Labelled("RACK-001"))
    record = lot.test()
    assert (record.label, record.of) == ("RACK-001", 5)


def test_the_last_label_taken_back() -> None:
    """Undo frees the label for the next cable; after a retest it goes back to the test before."""
    lot = Lot()
    lot.cable()
    assert lot.feed(Pressed("undo")) == (Undo(Last(101, "RACK-001", "pass")),)
    assert lot.feed(Pressed("undo")) == ()
    assert running_label(lot.sweep) == "RACK-001"
    lot.cable(verdict="fail")
    lot.feed(Pressed("retest"))
    lot.test()
    lot.keep()
    lot.feed(Pressed("undo"))
    assert lot.sweep.labels == {"RACK-001": 102}


def test_a_skipped_label_stays_unused() -> None:
    """A label that was skipped is entered as such and never given out again, also after an undo."""
    lot = Lot()
    lot.empty()
    assert lot.feed(Pressed("skip")) == (Skip("RACK-001"),)
    assert lot.cable().label == "RACK-002"
    lot.feed(Pressed("undo"))
    assert running_label(lot.sweep) == "RACK-002"


def test_notes_and_the_end() -> None:
    """A note belongs to the last test, so there is none before it; stop ends the loop in any phase."""
    lot = Lot()
    lot.empty()
    assert lot.feed(Pressed("note")) == ()
    lot.cable()
    assert lot.feed(Pressed("note")) == (AskNote(Last(101, "RACK-001", "pass")),)
    assert lot.feed(Pressed("stop")) == (Stop(),)


def test_a_tester_unplugged_in_mid_test() -> None:
    """When the line breaks in mid-test nothing is recorded; when it is back the cable that is in is tested."""
    lot = Lot()
    lot.empty()
    lot.look(GOOD, 1.0)
    lot.feed(Lost())
    assert lot.phase() == "lost"
    lot.feed(Back())
    assert Measure() in lot.look(GOOD, 1.0)


def test_a_tester_unplugged_after_a_verdict() -> None:
    """When the line broke after a verdict, nobody knows which cable is in: it must come out before the next test."""
    lot = Lot()
    lot.empty()
    lot.test()
    lot.keep()
    lot.feed(Lost(), Lost(), Back())
    assert Measure() not in lot.look(CROSSED, 5.0)
    lot.empty()
    assert lot.test().label == "RACK-002"


def test_labels_in_hand_are_forgotten_when_the_line_breaks() -> None:
    """A label scanned before the line broke may belong to another cable by then: it is asked for again."""
    lot = Lot(Plan(Labels(scanned=True), None, SIDES, None))
    lot.empty()
    lot.feed(Labelled("A-1"), Lost(), Back())
    lot.look(NOTHING, 0.2)
    lot.look(GOOD, 1.0)
    assert lot.measured() == ()
    assert lot.phase() == "label"


def test_a_full_disk() -> None:
    """A disk without room stops the test before it, or leaves it unshown; a key tries again."""
    lot = Lot()
    lot.empty()
    lot.test()
    lot.feed(NoRoom())
    assert lot.phase() == "full"
    assert not any(isinstance(action, Show) for action in lot.done)
    lot.feed(Pressed("main"))
    assert Measure() in lot.look(GOOD, 1.0)


def test_a_reference_cord_is_asked_for() -> None:
    """After so many insertions the reference cord is asked for; a key starts its test, which takes no label."""
    lot = Lot(Plan(Labels("RACK-"), None, SIDES, 2))
    lot.sweep = replace(lot.sweep, reference_due=2)
    lot.cable()
    assert lot.phase() == "waiting"
    lot.cable()
    assert lot.phase() == "reference"
    assert Measure() not in lot.look(GOOD, 5.0)
    lot.feed(Pressed("main"))
    record = lot.test()
    assert (record.reference, record.label, record.reference_due) == (True, "", 4)
    lot.keep()
    lot.empty()
    assert (lot.phase(), running_label(lot.sweep)) == ("waiting", "RACK-003")


def test_a_reference_cord_may_wait() -> None:
    """Not now: the reference cord is asked for again ten insertions later."""
    lot = Lot(Plan(Labels("RACK-"), None, SIDES, 1))
    lot.sweep = replace(lot.sweep, reference_due=1)
    lot.cable()
    assert lot.phase() == "reference"
    lot.feed(Pressed("skip"))
    assert lot.phase() == "waiting"
    assert lot.sweep.reference_due == lot.sweep.insertion + 10


def test_a_reference_cord_when_the_line_breaks() -> None:
    """A reference cord that is in when the line breaks is not taken for a cable of the lot afterwards."""
    lot = Lot(Plan(Labels("RACK-"), None, SIDES, 1))
    lot.sweep = replace(lot.sweep, reference_due=1)
    lot.cable()
    lot.feed(Pressed("main"))
    lot.look(GOOD, 1.0)
    lot.feed(Lost(), Back())
    assert Measure() not in lot.look(GOOD, 5.0)


def test_a_lot_that_is_complete() -> None:
    """When every cable is tested the page says so; a key goes on with more, a retest stays possible."""
    lot = Lot(Plan(Labels("RACK-"), 2, SIDES, None))
    lot.cable()
    lot.cable(verdict="fail")
    assert lot.phase() == "done"
    assert Measure() not in lot.look(GOOD, 5.0)
    lot.empty()
    more = replace(lot.sweep)
    lot.feed(Pressed("retest"))
    assert lot.test().of == 102
    after, _ = step(more, Pressed("main"))
    assert after.phase != "done"


def test_running_labels_pass_over_those_that_are_used() -> None:
    """A running label that was typed for another cable before is passed over."""
    lot = Lot()
    lot.empty()
    lot.feed(Labelled("RACK-002"))
    lot.test()
    lot.keep()
    lot.empty()
    assert lot.cable().label == "RACK-001"
    assert running_label(lot.sweep) == "RACK-003"
