"""A guided repair with a tester in the hand: from the first test to the pass, left, gone on with, begun anew."""

from datetime import UTC
from pathlib import Path

from tests.bench.world import Cable
from tests.phone.hands import Hands, refused
from wiremap.cable.colours import colour_set
from wiremap.phone.mend_fragment import mend_section

SOUND, CROSSED = "none", "exchanged"  # of the rack's cables; crossed: 3 and 6


def test_a_repair_goes_from_the_first_test_to_the_pass(tmp_path: Path) -> None:
    """Begun at a fail, answered by what is in the plugs, made anew, measured, moved: passed, with both records."""
    hands = Hands(tmp_path)
    hands.plug(CROSSED)
    assert hands.wish("mend").ok
    assert hands.view().handset.mending
    seen = dict(zip("12345678", _T568B, strict=True))
    plugs = {"near": seen, "far": {**seen, "3": seen["6"], "6": seen["3"]}}
    for _ in range(6):
        step = hands.view().step
        assert step is not None
        if step.kind != "ask":
            break
        contact = step.now.partition("contact ")[2].partition(" ")[0]
        word = plugs["near" if "helm" in step.now else "far"][contact] if contact else "yes"  # within reach
        assert hands.wish("answer", [word]).ok
    assert step is not None
    assert step.kind == "card"
    assert hands.wish("tick", [step.work[0].name]).ok
    hands.tester.cable = Cable(1, SOUND)
    assert hands.wish("did").ok
    hands.turns()
    assert hands.step().kind == "move"
    assert not hands.wish("label", ["W-1", ""]).ok  # the next cable waits
    assert hands.wish("did").ok
    assert hands.tester.measured[-1] == "moved"
    assert (hands.step().kind, hands.step().verdict) == ("passed", "pass")
    mended, found = sorted(hands.captures(), key=lambda one: one.verdict_now != "pass")
    assert found.capture is not None
    assert mended.capture is not None
    assert (found.verdict_now, mended.verdict_now) == ("fail", "pass")
    assert mended.capture.record.follows == found.digest
    assert mended.capture.record.job.re_terminated == "far"
    assert any(work.done for work in mended.capture.record.work)
    assert hands.wish("leave").ok
    assert hands.view().step is None


_T568B = ("white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown")


def test_a_repair_goes_on_only_where_it_is_asked_to(tmp_path: Path) -> None:
    """Left, it is offered by when it was begun; "Mend it" begins anew: another cable has not the colours of the first.

    A repair that is over is not offered.
    """
    hands = Hands(tmp_path)
    hands.plug(CROSSED)
    assert hands.view().unfinished == ""
    hands.wish("mend")
    hands.wish("answer", ["green"])
    step = hands.view().step
    hands.wish("leave")
    assert hands.view().step is None
    assert hands.view().unfinished.startswith(hands.shot().at.astimezone(UTC).isoformat()[:13])
    hands.wish("mend", ["go-on"])
    assert hands.view().step == step
    hands.wish("leave")
    hands.plug(CROSSED, 1)
    hands.wish("mend")
    assert hands.step().kind == "ask"
    assert not hands.step().undo
    hands.wish("leave")
    hands.wish("label", ["W-1", ""])
    hands.plug(CROSSED, 2)
    assert hands.view().unfinished == ""
    assert hands.wish("mend", ["go-on"]).ok  # nothing to go on with: it begins
    assert hands.view().step is not None


def test_a_repair_goes_on_after_a_restart(tmp_path: Path) -> None:
    """Killed in the middle of it, it stands where it was; an answer that comes twice was given once."""
    hands = Hands(tmp_path)
    hands.plug(CROSSED)
    hands.wish("mend")
    hands.wish("answer", ["?"], mark="answer-01")
    step = hands.view().step
    then = hands.again()
    assert then.view().step == step
    assert then.wish("answer", ["?"], mark="answer-01").text == "Done before."
    assert then.view().step == step


def test_what_does_not_fit_the_step_is_refused(tmp_path: Path) -> None:
    """An answer where nothing is asked, or of a test that is not the newest, changes nothing."""
    hands = Hands(tmp_path)
    hands.plug(CROSSED)
    assert "does not fit" in refused(hands.wish("answer", ["green"]))
    hands.wish("mend")
    step = hands.view().step
    assert "does not fit" in refused(hands.wish("did"))
    assert "does not fit" in refused(hands.wish("answer", ["pink"]))
    assert hands.wish("answer", ["?"], test=0).text == "Test 1 is newer than what you saw."
    assert hands.view().step == step


def test_a_part_is_tested_from_the_phone_and_is_no_test_of_the_cable(tmp_path: Path) -> None:
    """Before the cable is given up a lead takes its place: tested, it is in no capture and no count; left out, too."""
    for press in ("did", "not-moved"):
        hands = Hands(tmp_path / press)
        hands.plug("open-middle")
        hands.wish("mend")
        for _ in range(6):
            if hands.step().kind != "ask":
                break
            words = [choice.word for choice in hands.step().choices]
            assert hands.wish("answer", ["neither" if "neither" in words else "well"]).ok
        step, count, kept = hands.step(), hands.view().handset.count, len(hands.captures())
        assert (step.kind, step.later) == ("part", True)
        assert "a lead known to be good" in step.now
        assert ">Test this lead<" in mend_section(step, colour_set("tia"))
        assert ">Not now<" in mend_section(step, colour_set("tia"))
        assert hands.wish("did" if press == "did" else "not-moved").ok
        assert hands.view().handset.count == count
        assert hands.step().kind == "stopped"
        assert ("in the tester or its sockets" in hands.step().now) == (press == "did")
        assert len(hands.captures()) == kept + 1  # the cable as it was found, and as it is


def test_the_phone_shows_how_far_a_test_of_a_moved_cable_is(tmp_path: Path) -> None:
    """While it is watched each second makes a view with a bar and what came and went; nothing is to be pressed then."""
    hands = Hands(tmp_path)
    hands.plug(CROSSED)
    hands.wish("mend")
    hands.tester.cable = Cable(1, SOUND)
    while hands.step().kind == "ask":
        assert hands.wish("answer", ["?"]).ok
    assert hands.wish("did").ok
    hands.turns()
    assert hands.step().kind == "move"
    before = len(hands.seen)
    assert hands.wish("did").ok
    moving = [view.step for view in hands.seen[before:] if view.step is not None and view.step.progress is not None]
    assert len(moving) == 16
    assert [step.ready for step in moving] == [""] * 16
    assert moving[0].now.startswith("Keep both plugs still")
    assert "Watched for 14 of 15 s: nothing came and went." in moving[-1].now
    assert '<progress value="0.93" max="1"></progress>' in mend_section(moving[-1], colour_set("tia"))
    assert hands.step().kind == "passed"
