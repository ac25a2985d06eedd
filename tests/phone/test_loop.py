"""The loop that phones look on: what hands plug and thumbs ask becomes, once, what is shown and kept."""

from pathlib import Path

import pytest

from tests.bench.world import Cable
from tests.phone.hands import LOOK_S, Hands, refused
from tests.phone.rules import jpeg
from wiremap.bench.driver import RETRY_S
from wiremap.bench.handset import MOST_SHOTS, next_label_of
from wiremap.phone.fragment import BEFORE, OUT, UNSEEN, fragment
from wiremap.records.keys import choose_key

SOUND, CROSSED = "none", "exchanged"  # of the rack's cables; crossed: 3 and 6


def test_a_cable_that_is_put_in_is_tested_once(tmp_path: Path) -> None:
    """Nothing, moving, measuring, shown; in the sockets it is not tested again, and the next one is test 2."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    assert hands.phases == ["starting", "nothing", "moving", "measuring", "shown"]
    assert (hands.shot().number, hands.shot().label) == (1, "W-1")
    assert hands.case().diagnosis.verdict == "pass"
    hands.turns(50)
    assert hands.tester.measured == ["tester"]
    hands.plug(CROSSED, 1)
    assert hands.shot().number == 2
    assert hands.case().diagnosis.verdict == "fail"
    assert hands.tester.measured == ["tester"] * 2


def test_a_cable_that_is_out_is_said_to_be_out(tmp_path: Path) -> None:
    """Its verdict stands, marked as of a cable that is in the sockets no more, until the next one is measured."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    assert not hands.view().is_out
    hands.plug(None)
    assert hands.view().is_out
    assert hands.view().case is not None
    hands.plug(SOUND, 1)
    assert not hands.view().is_out


def test_with_the_far_plug_elsewhere_only_a_thumb_tests(tmp_path: Path) -> None:
    """With the far plug open nobody sees a cable come: nothing is tested, or called out, until it is asked for."""
    hands = Hands(tmp_path, far="open")
    hands.turns(1)
    assert UNSEEN in fragment(hands.view())
    hands.plug(SOUND)
    hands.turns(20)
    assert hands.tester.measured == []
    assert hands.wish("again", test=0).ok
    assert hands.tester.measured == ["open"]
    hands.plug(None)
    assert hands.view().handset.phase == "shown"
    assert not hands.view().is_out
    assert UNSEEN not in fragment(hands.view())


def test_what_is_there_while_the_next_is_measured_is_striped(tmp_path: Path) -> None:
    """From the first movement on a verdict is marked as old, until the one of the cable that is in is there."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    hands.seen.clear()
    hands.plug(CROSSED, 1)
    assert [view.is_out for view in hands.seen] == [view.handset.phase != "shown" for view in hands.seen]
    assert {view.handset.phase for view in hands.seen} == {"moving", "nothing", "measuring", "shown"}
    for view in hands.seen:
        assert (OUT in fragment(view)) == (view.handset.phase == "nothing")
        assert (BEFORE in fragment(view)) == (view.handset.phase in ("moving", "measuring"))


def test_again_is_for_the_test_the_thumb_saw(tmp_path: Path) -> None:
    """Asked of the newest test it measures once; asked of an older one, or twice with one id, it does nothing."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    assert hands.wish("again", test=1, mark="twice-01").ok
    assert hands.shot().number == 2
    late = hands.wish("again", test=1)
    assert late.ok
    assert late.text == "Test 2 is newer than what you saw."
    assert hands.wish("again", test=1, mark="twice-01").text == "Done before."
    assert (hands.shot().number, len(hands.tester.measured)) == (2, 2)


def test_two_phones_that_press_again_get_one_test(tmp_path: Path) -> None:
    """Both saw test 1, both press: there is one test 2."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    hands.wish("again", test=1, mark="phone-a-1")
    hands.wish("again", test=1, mark="phone-b-1")
    assert hands.view().handset.count == 2


def test_keep_twice_is_one_capture_with_the_label(tmp_path: Path) -> None:
    """Kept by two thumbs, and once more with the same id: one file, with the label of its test, that verifies."""
    hands = Hands(tmp_path, key=choose_key(None))
    hands.plug(SOUND)
    kept = hands.wish("keep", mark="phone-a-1")
    assert kept.ok
    assert hands.shot().is_kept
    assert hands.wish("keep", mark="phone-b-1").text == kept.text
    assert hands.wish("keep", mark="phone-a-1").text == "Done before."
    (one,) = hands.captures()
    assert kept.text == f"Kept as {one.source}."
    assert one.capture is not None
    assert one.capture.record.job.cable == "W-1"
    assert one.capture.reading == hands.shot().reading
    assert one.signature == "unknown"  # it is signed, and holds; whose it is was not asked


def test_a_capture_has_the_label_of_its_test(tmp_path: Path) -> None:
    """The next label is of the next test: what was tested before keeps its own, whenever it is kept."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    assert hands.wish("label", ["W-1", ""]).text == "The next test is W-2."
    hands.plug(SOUND, 1)
    hands.wish("keep", test=2)
    hands.wish("keep", test=1)
    labels = {one.capture.record.job.cable for one in hands.captures() if one.capture is not None}
    assert labels == {"W-1", "W-2"}
    assert [shot.label for shot in hands.view().handset.shots] == ["W-1", "W-2"]


def test_a_label_is_left_once(tmp_path: Path) -> None:
    """Two thumbs that leave the same label go one step; a label of one's own is taken, one too long is refused."""
    hands = Hands(tmp_path)
    hands.wish("label", ["W-1", ""], mark="phone-a-1")
    hands.wish("label", ["W-1", ""], mark="phone-b-1")
    assert hands.view().handset.label == "W-2"
    hands.wish("label", ["W-2", "mast 7"])
    assert hands.view().handset.label == "mast 7"
    assert hands.wish("label", ["W-1", ""]).ok  # of a thumb that saw the first label, and comes late
    assert hands.view().handset.label == "mast 7"
    assert "61 letters" in refused(hands.wish("label", ["mast 7", "x" * 61]))
    assert hands.view().handset.label == "mast 7"


@pytest.mark.parametrize(
    ("label", "following"),
    [("W-1", "W-2"), ("W-099", "W-100"), ("9", "10"), ("deck 3 port", "deck 4 port"), ("mast", "mast 2"), ("", "")],
)
def test_labels_go_up(label: str, following: str) -> None:
    """The number nearest the end goes up by one, as wide as it was."""
    assert next_label_of(label) == following


def test_a_colour_that_was_seen_says_which_plug_is_wrong(tmp_path: Path) -> None:
    """Before it either plug may be; after it one is, the record has it, and what was kept is followed, not changed."""
    hands = Hands(tmp_path)
    hands.plug(CROSSED)
    hands.wish("keep")
    before = hands.view().case
    assert before is not None
    assert before.advice.repair is not None
    assert before.advice.repair.steps[0].look is not None
    assert hands.wish("colour", ["far", "3", "green"]).ok  # T568B has white-green there
    after = hands.view().case
    assert after is not None
    assert after.advice.repair is not None
    assert [(step.action, step.end) for step in after.advice.repair.steps[:1]] == [("re-terminate", "far")]
    assert not hands.shot().is_kept
    first = hands.captures()
    hands.wish("keep")
    assert hands.shot().is_kept
    two = hands.captures()
    assert len(two) == 2
    assert [one.digest for one in first] == [one.digest for one in two if one.source == first[0].source]
    newer = next(one for one in two if one.source != first[0].source)
    assert newer.capture is not None
    assert newer.capture.record.follows == first[0].digest


def test_a_colour_said_anew_takes_the_place_of_the_first(tmp_path: Path) -> None:
    """A contact has one colour: the one said last."""
    hands = Hands(tmp_path)
    hands.plug(CROSSED)
    hands.wish("colour", ["far", "3", "green"])
    hands.wish("colour", ["far", "3", "white-green"])
    assert hands.shot().told == (("far", "3", "white-green"),)
    hands.wish("keep")
    assert hands.shot().is_kept
    hands.wish("colour", ["far", "3", "green"])
    assert not hands.shot().is_kept
    hands.wish("keep")
    assert hands.shot().is_kept
    assert len(hands.captures()) == 2


@pytest.mark.parametrize("words", [("far", "9", "green"), ("far", "3", "pink"), ("mast", "3", "green"), ("far", "3")])
def test_a_colour_of_no_contact_is_refused(tmp_path: Path, words: tuple[str, ...]) -> None:
    """A contact, an end or a colour that the cable has not changes nothing, and the page says so."""
    hands = Hands(tmp_path)
    hands.plug(CROSSED)
    before = hands.view().handset.shots
    assert refused(hands.wish("colour", words)).startswith((" ".join(words), f"{words[-1]} at"))
    assert hands.view().handset.shots == before
    assert hands.view().handset.trouble


def test_wishes_find_their_test_by_its_number(tmp_path: Path) -> None:
    """Of the newest eight tests each can be kept, told colours and given photos; an older one is not known any more."""
    hands = Hands(tmp_path)
    hands.plug(CROSSED)
    for _ in range(MOST_SHOTS):
        hands.wish("again")
    assert hands.view().handset.count == MOST_SHOTS + 1
    assert hands.wish("keep", test=2).ok
    assert hands.wish("colour", ["near", "3", "white-green"], test=3).ok
    assert hands.wish("keep", test=4, photo=jpeg()).ok
    assert "test 1 is not known any more" in refused(hands.wish("keep", test=1))
    assert "test 1 is not known any more" in refused(hands.wish("keep", test=1, photo=jpeg()))
    assert "test 40 is not known" in refused(hands.wish("keep", test=40))
    assert len(hands.captures()) == 1
    assert len(list(hands.book.folder.glob("photo-*.jpg"))) == 1
    assert [shot.is_kept for shot in hands.view().handset.shots] == [True, *[False] * 7]


def test_a_tester_that_is_lost_is_looked_for(tmp_path: Path) -> None:
    """Its line breaks: said, with what to do, the last test stays to be read and kept; back, the cable is tested."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    hands.tester.gone = True
    hands.turns(3)
    assert hands.view().handset.phase == "lost"
    assert "Plug it in again." in hands.view().handset.trouble
    assert hands.wish("keep", test=1).ok
    assert not hands.wish("again", test=1).ok
    assert hands.view().handset.phase == "lost"
    hands.tester.gone = False
    hands.tester.now_s += RETRY_S
    hands.turns()
    assert hands.phases[-2:] == ["measuring", "shown"]
    assert hands.view().handset.trouble == ""
    assert hands.shot().number == 2
    assert len(hands.captures()) == 1


def test_another_tester_is_not_gone_on_with(tmp_path: Path) -> None:
    """Where another one was plugged in, that is said, and the loop waits for the first."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    hands.tester.gone = hands.tester.other = True
    hands.turns(3)
    hands.tester.gone = False
    hands.tester.now_s += RETRY_S
    hands.turns(3)
    assert hands.view().handset.phase == "lost"
    assert "the tester 8 was plugged in for 7" in hands.view().handset.trouble
    hands.tester.other = False
    hands.tester.now_s += RETRY_S
    hands.turns()
    assert hands.view().handset.phase == "shown"


def test_a_line_that_breaks_while_it_measures_loses_no_test(tmp_path: Path) -> None:
    """Half a measurement is no test: the number is free for the next one."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    hands.tester.cable = None
    hands.turns()
    hands.tester.cable = Cable(1, CROSSED)
    while hands.view().handset.phase != "moving":
        hands.turns(1)
    hands.tester.breaks = True
    hands.turns(6)
    assert hands.view().handset.phase == "lost"
    assert hands.view().handset.count == 1
    hands.tester.gone = hands.tester.breaks = False
    hands.tester.now_s += RETRY_S
    hands.turns()
    assert (hands.shot().number, hands.view().handset.phase) == (2, "shown")


def test_what_cannot_be_measured_is_said_and_not_tried_for_ever(tmp_path: Path) -> None:
    """Refused for a reason that stays, a cable is tried once, and again when a thumb asks."""
    hands = Hands(tmp_path)
    hands.tester.refuses = True
    hands.plug(SOUND)
    hands.turns(20)
    assert hands.tester.measured == ["tester"]
    assert hands.view().handset.trouble == "the calibration cannot be read. Calibrate again."
    hands.tester.refuses = False
    assert hands.wish("again", test=0).ok
    assert (hands.shot().number, hands.view().handset.trouble) == (1, "")


def test_a_tester_that_hangs_is_seen_by_its_age(tmp_path: Path) -> None:
    """While a call does not return, the age of the last sign of life grows; the page greys by it."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    ages: list[float] = []
    hands.tester.hung = lambda: ages.append(hands.tester.now_s - hands.loop.alive_s)
    hands.turns(1)
    assert ages == pytest.approx([5.1, 10.1, 15.1])
    hands.tester.hung = None
    hands.turns(1)
    assert hands.loop.alive_s == pytest.approx(hands.tester.now_s - LOOK_S)
