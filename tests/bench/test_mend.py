"""A guided repair as a state machine: what it asks and wants done, step by step, of readings made by hand."""

from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.records.samples import reading
from wiremap.bench.mend.events import (
    Answered,
    Asked,
    Did,
    FaultAt,
    Mend,
    MendEvent,
    TakenBack,
    Tested,
    Ticked,
    can_take_back,
    reported,
    what_stands,
)
from wiremap.bench.mend.known import CLOSED
from wiremap.bench.mend.machine import what_now
from wiremap.bench.mend.mend_book import begun, gone_on
from wiremap.bench.mend.stage import Stage
from wiremap.cable.terminations import termination
from wiremap.contact import far_contact, near_contact
from wiremap.errors import FileError
from wiremap.judge.case import requirements
from wiremap.judge.remedy.knowledge import Statements
from wiremap.reading.parts import Event, ForeignVoltage
from wiremap.records.mend_file import read_mend

EXCHANGED = (0, 1, 5, 3, 4, 2, 6, 7)  # 3 and 6
STRAIGHT = requirements("straight")


def after(*events: MendEvent, mend: Mend | None = None) -> Mend:
    """Return a repair after these events."""
    found = mend or Mend(STRAIGHT)
    for event in events:
        found = reported(found, event)
    return found


def answered(stage: Stage, word: str) -> Answered:
    """Return the answer to what is asked."""
    assert stage.asked is not None
    return Answered(stage.asked, word)


def test_a_repair_begins_with_a_test_and_a_sound_cable_is_moved_before_it_passes() -> None:
    """First it is measured; what passes at rest is measured once more while it is moved, or somebody says not now."""
    assert what_now(Mend(STRAIGHT)).kind == "measure"
    right = after(Tested(reading()))
    assert what_now(right).kind == "move"
    assert what_now(after(Tested(reading(), moved=True), mend=right)).kind == "passed"
    assert what_now(after(Did("not-moved"), mend=right)).kind == "passed"


def test_what_comes_and_goes_while_it_is_moved_is_mended() -> None:
    """An opening that was seen while the cable was moved sends nobody home with a pass."""
    opened = Event(1, near_contact("3"), far_contact("3"), "opened", 1000, 5000)
    moved = after(Tested(reading()), Tested(replace(reading(), events=(opened,)), moved=True))
    stage = what_now(moved)
    assert (stage.kind, stage.asked) == ("move", Asked("move-one", "near"))
    assert stage.case is not None
    assert [finding.fault for finding in stage.case.diagnosis.findings] == ["intermittent"]
    found = after(Tested(replace(reading(), events=(opened,)), moved=True, of=stage.asked), mend=moved)
    assert (what_now(found).kind, what_now(found).end) == ("card", "near")
    quiet = after(Tested(reading(), moved=True, of=stage.asked), mend=moved)
    assert what_now(quiet).asked == Asked("move-one", "far")
    there = after(Tested(replace(reading(), events=(opened,)), moved=True, of=what_now(quiet).asked), mend=quiet)
    assert (what_now(there).kind, what_now(there).end) == ("card", "far")


def test_an_exchanged_pair_goes_from_look_to_card_to_test() -> None:
    """The colour that decides most is asked for; it settles which plug is wrong, and its card has the right order."""
    mend = after(Tested(reading(EXCHANGED)))
    look = what_now(mend)
    assert look.kind == "ask"
    assert look.asked is not None
    assert (look.asked.kind, look.asked.end) == ("colour", "near")
    wrong = {"3": "green", "6": "white-green"}.get(look.asked.contacts[0], "")
    assert wrong, "the look is at one of the exchanged contacts"
    mend = after(answered(look, wrong), mend=mend)
    card = what_now(mend)
    while card.kind == "ask":  # which standard the other contacts are of
        assert card.asked is not None
        mend = after(answered(card, dict(termination("T568B").conductors)[card.asked.contacts[0]]), mend=mend)
        card = what_now(mend)
    assert (card.kind, card.end) == ("card", "near")
    assert card.step is not None
    assert dict(card.step.order)["3"] == "white-green"
    assert card.work is not None
    mend = after(Did(card.work, card.end, card.step.order, card.faults), mend=mend)
    assert what_now(mend).kind == "measure"
    assert what_now(after(Tested(reading()), mend=mend)).kind == "move"


def test_an_answer_that_cannot_be_is_asked_once_more_and_then_not_believed() -> None:
    """A contact that conducts is not empty: asked again, and when that is said again it counts as not known."""
    mend = after(Tested(reading(EXCHANGED)))
    look = what_now(mend)
    mend = after(answered(look, "-"), mend=mend)
    again = what_now(mend)
    assert again.asked == look.asked
    assert again.again
    assert "empty" in again.contradicts
    mend = after(answered(again, "-"), mend=mend)
    then = what_now(mend)
    assert then.asked != look.asked
    assert look.asked is not None
    assert then.unbelieved == (("near", look.asked.contacts[0]),)
    assert [event.word for event in mend.events if isinstance(event, Answered)] == ["-", "-"]


def test_i_do_not_know_sends_nobody_there_again() -> None:
    """Every contact that cannot be told is asked for once at most, and in the end a plug is made without colours."""
    mend, asked = after(Tested(reading(EXCHANGED))), []
    while (stage := what_now(mend)).kind == "ask":
        assert stage.asked not in asked
        asked.append(stage.asked)
        mend = after(answered(stage, "?"), mend=mend)
    assert len(asked) > 2
    assert stage.kind == "card"
    assert stage.step is not None
    assert stage.step.moves or len({name for _, name in stage.step.order}) == 8


def test_a_plug_that_cannot_be_got_at_is_not_asked_about() -> None:
    """Said once, it holds: looks and work go to the other plug."""
    told = requirements("straight", statements=Statements(near_colours="1=white-orange,2=orange,3=white-green"))
    mend = Mend(told)
    mend = after(Tested(reading(EXCHANGED)), Answered(Asked("reach", "far"), CLOSED), mend=mend)
    stage = what_now(mend)
    assert (stage.kind, stage.end) == ("card", "near")


def test_the_set_up_is_asked_about_and_measured_again_as_it_is() -> None:
    """Where nothing arrives at the far socket it is asked what the far plug is in; then it is measured so."""
    mend = after(Tested(reading([None] * 8)))
    stage = what_now(mend)
    assert stage.asked is not None
    assert (stage.kind, stage.asked.kind, stage.choices[0]) == ("ask", "set-up", "open")
    free = after(answered(stage, "open"), mend=mend)
    assert what_now(free).kind == "measure"
    there = what_now(after(answered(stage, "tester"), mend=mend))
    assert there.kind != "measure"
    assert there.asked != stage.asked


def test_without_an_expectation_it_is_asked_for() -> None:
    """The nearest pattern stands first; what is answered is what the cable is judged by."""
    mend = after(Tested(reading(EXCHANGED)), mend=Mend(requirements()))
    stage = what_now(mend)
    assert stage.asked == Asked("expect")
    assert stage.choices[0] == "straight"
    assert what_now(after(answered(stage, "straight"), mend=mend)).kind == "ask"


def test_what_feeds_the_cable_goes_first() -> None:
    """With a voltage on a contact nothing else is asked: it is unplugged, and tested again."""
    fed = replace(reading(EXCHANGED), foreign=(ForeignVoltage(near_contact("4"), 48_000, "dc"),))
    stage = what_now(after(Tested(fed)))
    assert (stage.kind, stage.work) == ("do", "unplug")
    assert what_now(after(Did("unplug"), mend=after(Tested(fed)))).kind == "measure"


def test_taking_back_stops_at_what_was_cut() -> None:
    """Answers and ticks can be taken back, and work that no test has followed; a plug that was tested cannot."""
    tested, look = Tested(reading(EXCHANGED)), Answered(Asked("colour", "near", ("3",)), "green")
    done = Did("re-terminate", "near")
    assert not can_take_back(after(tested))
    assert what_stands((tested, look, TakenBack())) == (tested,)
    assert what_stands((tested, look, done, TakenBack())) == (tested, look)
    assert what_stands((tested, look, done, tested, TakenBack())) == (tested, look, done, tested)
    assert what_stands((tested, Ticked("power-off"), TakenBack())) == (tested,)


def test_by_eye_a_plug_is_made_and_nothing_is_said_to_be_measured() -> None:
    """From colours alone: the wrong plug is made by its card, and the end is that it looks right, to be measured."""
    right = "1=white-orange,2=orange,3=white-green,4=blue,5=white-blue,6=green,7=white-brown,8=brown"
    wrong = right.replace("3=white-green", "3=green").replace("6=green", "6=white-green")
    told = requirements("straight", statements=Statements(near_colours=right, far_colours=wrong))
    mend = Mend(told, live=False, by_eye=True)
    card = what_now(mend)
    assert (card.kind, card.end) == ("card", "far")
    assert card.step is not None
    assert card.work is not None
    over = what_now(after(Did(card.work, card.end, card.step.order, card.faults), mend=mend))
    assert (over.kind, over.why) == ("stopped", "by-eye")


def test_without_a_tester_a_new_plug_waits_for_one() -> None:
    """From a table: after the card it waits to be measured, and goes on where it was when a tester is there."""
    told = requirements("straight", statements=Statements(near_colours="3=green,4=blue,1=white-orange"))
    mend = after(Tested(replace(reading(EXCHANGED), origin="table")), mend=Mend(told, live=False))
    card = what_now(mend)
    assert card.kind == "card"
    waiting = after(Did("re-terminate", card.end, card.step.order if card.step else ()), mend=mend)
    assert what_now(waiting).kind == "measure"
    assert what_now(after(Tested(reading()), mend=replace(waiting, live=True))).kind == "move"


FAULTS = FaultAt("short", ("1", "2"), ("1", "2")), FaultAt("screen-open", ("S",), ())


def test_a_repair_goes_on_where_it_was(tmp_path: Path) -> None:
    """What was reported is on the disk at once, answers as they were said; read again it is the same repair."""
    book = begun(tmp_path / "cable.json", Mend(STRAIGHT), {"expect": "straight"})
    for event in (
        Tested(reading(EXCHANGED)),
        Answered(Asked("colour", "near", ("3",)), "green"),
        TakenBack(),
        Answered(Asked("colour", "near", ("3",)), "?"),
        Did("re-terminate", "far", (("1", "white-orange"), ("2", None)), FAULTS),
        Ticked("power-off"),
    ):
        book.report(event)
        kept = read_mend(tmp_path / "cable.json")
        assert kept is not None
        assert gone_on(tmp_path / "cable.json", kept, Mend(STRAIGHT)).mend == book.mend
    kept = read_mend(tmp_path / "cable.json")
    assert kept is not None
    (against,) = [entry.against for entry in kept.entries if entry.against]
    assert against == ("short near 1,2 far 1,2", "screen-open near S far ")
    hurt = replace(kept, entries=tuple(replace(one, against=one.against and ("open at 1",)) for one in kept.entries))
    with pytest.raises(FileError, match="'open at 1' is no fault"):
        gone_on(tmp_path / "cable.json", hurt, Mend(STRAIGHT))
    (tmp_path / "cable.json").write_bytes(b'{"format":1}\n')
    with pytest.raises(FileError, match="options"):
        read_mend(tmp_path / "cable.json")
