"""The labels of a lot: scanned before or after, on another cable, taken back, left out; the last cable again."""

from msgspec.structs import replace

from tests.bench.swept import CROSSED, GOOD, NOTHING, SIDES, Lot
from wiremap.bench.sweep import running_label, step
from wiremap.bench.sweep_events import (
    KeepRecord,
    Labelled,
    Labels,
    Last,
    Measure,
    Plan,
    Pressed,
    Skip,
    Undo,
)


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
