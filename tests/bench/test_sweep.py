"""The steps of a lot: a cable in, measured, recorded, shown and out; troubles of contacts, line, disk and cords."""

from msgspec.structs import replace

from tests.bench.swept import CROSSED, EDGE, GOOD, NOTHING, SIDES, Lot
from wiremap.bench.sweep import running_label, step
from wiremap.bench.sweep_events import (
    AskNote,
    Back,
    Broken,
    KeepRecord,
    Labelled,
    Labels,
    Last,
    Lost,
    Measure,
    NoRoom,
    Outcome,
    Plan,
    Pressed,
    Ring,
    Show,
    Stop,
    WasMeasured,
)
from wiremap.bench.sweep_page import PROMPTS
from wiremap.judge.findings import Verdict


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


def test_a_cable_that_breaks_the_program_gets_no_verdict_and_ends_nothing() -> None:
    """It must come out, the bell is that of an undecided one, its label goes to the next cable, the lot goes on."""
    lot = Lot()
    lot.empty()
    assert Measure() in lot.look(GOOD, 1.0)
    assert lot.feed(Broken()) == (Ring("undecided"),)
    assert (lot.phase(), lot.said()) == ("clear", "broken")
    assert "no fault of it" in PROMPTS["clear", "broken"]
    assert not lot.look(GOOD, 2.0)
    lot.empty()
    assert lot.phase() == "waiting"
    assert lot.cable().label == "RACK-001"
