"""What a tester in the hand keeps: after a restart, a crash between two writes, on a full disk, and of photos."""

from pathlib import Path

import pytest

from tests.bench.world import Cable
from tests.phone.hands import Hands, refused
from tests.phone.rules import jpeg
from wiremap.errors import FileError
from wiremap.records.keys import choose_key
from wiremap.records.new_file import written_beside

SOUND, CROSSED = "none", "exchanged"  # of the rack's cables; crossed: 3 and 6


def test_what_stands_outlives_a_restart(tmp_path: Path) -> None:
    """Started again: the last tests are there, numbers go on, the cable that is in is tested anew: it may be another.

    A wish that comes late finds its own test, and one that was carried out is not carried out again.
    """
    hands = Hands(tmp_path)
    hands.plug(CROSSED)
    hands.wish("label", ["W-1", ""])
    hands.wish("keep", test=1, mark="before-it")
    hands.wish("keep", test=1, photo=jpeg())
    then = hands.again()
    assert then.view().handset.shots == hands.view().handset.shots
    assert then.view().handset.label == "W-2"
    assert then.wish("keep", test=1, mark="before-it").text == "Done before."
    then.turns()
    assert (then.shot().number, then.shot().label) == (2, "W-2")
    assert then.wish("keep", test=1).ok
    assert then.view().handset.shots[0] == hands.view().handset.shots[0]
    assert len(then.captures()) == 2  # the test, and the record that follows it with the photo


def test_a_keep_that_was_cut_off_between_file_and_state_is_kept_once(tmp_path: Path) -> None:
    """The file is there, the state does not know: the same wish finds the same bytes, and makes no second file."""
    hands = Hands(tmp_path, key=choose_key(None))
    hands.plug(SOUND)
    state = hands.book.path.read_bytes()
    kept = hands.wish("keep", mark="cut-off-1")
    hands.book.path.write_bytes(state)
    then = hands.again()
    assert then.wish("keep", test=1, mark="cut-off-1").text == kept.text
    assert len(then.captures()) == 1


def test_what_cannot_be_written_is_not_said_to_be_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With a disk that is full Keep is refused with the reason; when there is room it works with the same id."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)

    def full(path: Path, *_: object, **__: object) -> None:
        raise OSError(28, "No space left on device", str(path))

    with monkeypatch.context() as patch:
        patch.setattr("wiremap.bench.handset_book.write_new", full)
        assert "No space left" in refused(hands.wish("keep", mark="no-room-1"))
        assert not hands.shot().is_kept
        assert "No space left" in hands.view().handset.trouble
    assert hands.captures() == []
    assert hands.wish("keep", mark="no-room-1").ok
    assert len(hands.captures()) == 1


def test_a_state_that_cannot_be_written_shows_no_test(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A test that is not on the disk is not shown: the page says why, and does not try for ever."""
    hands = Hands(tmp_path)
    hands.turns()

    def full(*_: object) -> None:
        raise FileError("the disk is full.", "Make room on it.")

    with monkeypatch.context() as patch:
        patch.setattr("wiremap.bench.handset_book.write_handset", full)
        hands.tester.cable = Cable(0, SOUND)
        hands.turns(20)
        assert hands.view().handset.count == 0
        assert hands.view().case is None
        assert "Make room" in hands.view().handset.trouble
        assert len(hands.tester.measured) == 1
    assert hands.wish("again", test=0).ok
    assert (hands.shot().number, hands.view().handset.trouble) == (1, "")


def test_a_photo_before_keep_is_in_the_record_and_one_after_it_follows(tmp_path: Path) -> None:
    """Each photo's digest stands in a record; the same picture twice is one; nothing that was kept is written over."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    first, second = jpeg(), jpeg(32, 32)
    assert "Keep puts its digest" in hands.wish("keep", test=1, photo=first).text
    hands.wish("keep", test=1, photo=first)
    hands.wish("keep", test=1)
    (one,) = hands.captures()
    assert one.capture is not None
    (photo,) = one.capture.record.job.photos
    assert (hands.book.folder / photo.file).read_bytes() == first
    assert "follows the one before" in hands.wish("keep", test=1, photo=second).text
    two = hands.captures()
    assert len(two) == 2
    later = next(found.capture for found in two if found.source != one.source)
    assert later is not None
    assert len(later.record.job.photos) == 2
    assert later.record.follows == one.digest
    assert hands.shot().is_kept


def test_names_beside_are_not_taken_for_captures(tmp_path: Path) -> None:
    """Whatever has the name of a capture already stays as it is, and the capture gets the next one."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    hands.wish("keep")
    (first,) = hands.captures()
    path = hands.book.folder / first.source
    path.unlink()
    with written_beside(path) as part:
        part.write_bytes(b"of somebody else")
    again = hands.book.capture(hands.shot(), hands.judge(hands.shot()))
    assert again.file == f"{path.stem}-2.json"
    assert path.read_bytes() == b"of somebody else"
