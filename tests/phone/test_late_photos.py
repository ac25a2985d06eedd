"""A photo taken after Keep, of a test or of a mended cable: records that follow, whatever the program is killed at."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.bench.world import Cable
from tests.cli.running import run
from tests.phone.hands import Hands, refused
from tests.phone.rules import jpeg
from wiremap.bench import handset_book
from wiremap.records.captures.capture import Capture, read_capture
from wiremap.records.captures.seal import digest
from wiremap.records.keys import choose_key

SOUND, CROSSED = "none", "exchanged"  # of the rack's cables; crossed: 3 and 6
PHOTOS = [jpeg(), jpeg(32, 32), jpeg(16, 48)]


def kept(hands: Hands) -> dict[str, bytes]:
    """Return every capture in the folder by name."""
    return {path.name: path.read_bytes() for path in sorted(hands.book.folder.glob("*.json"))}


def chain(hands: Hands) -> list[Capture]:
    """Return the captures in the order in which they follow each other, the first first."""
    found = {one.digest: one for one in (read_capture(content, name) for name, content in kept(hands).items())}
    (first,) = [one for one in found.values() if one.record.follows is None]
    following = {one.record.follows: one for one in found.values()}
    ordered = [first]
    while ordered[-1].digest in following:
        ordered.append(following[ordered[-1].digest])
    assert len(ordered) == len(found)
    return ordered


def test_each_photo_after_keep_is_a_record_that_follows_the_one_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was kept stays byte for byte; each record has one photo more, the same reading and verdict, and verifies;
    a photo that is changed afterwards is seen, by every record that names it.
    """
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    hands = Hands(tmp_path, key=choose_key(None))
    hands.plug(CROSSED)
    hands.wish("keep")
    for number, photo in enumerate(PHOTOS):
        before = kept(hands)
        said = hands.wish("keep", photo=photo)
        assert said.text == "Photo kept with test 1, in a record that follows the one before."
        after = kept(hands)
        assert {name: after[name] for name in before} == before
        assert len(after) == number + 2
        assert hands.shot().is_kept
    records = [one.record for one in chain(hands)]
    assert [[one.digest for one in record.job.photos] for record in records] == [
        [digest(photo) for photo in PHOTOS[:count]] for count in range(4)
    ]
    assert len({(str(record.reading), str(record.diagnosis), record.made_utc) for record in records}) == 1
    folder = str(hands.book.folder)
    assert run("verify", folder).code == 0
    path = hands.book.folder / records[1].job.photos[0].file
    path.write_bytes(PHOTOS[1])
    seen = run("verify", folder, "--json")
    assert seen.code == 3
    assert [one["sound"] for one in seen.objects() if "sound" in one].count(False) == 3
    assert "is another file than this photo" in refused(hands.wish("keep", photo=PHOTOS[0]))
    assert path.read_bytes() == PHOTOS[1]  # what was put in its place is not written over


def test_a_photo_of_a_mended_cable_follows_the_record_after_the_repair(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Found, mended, photographed: three records, each naming the one before; the plug that is new stays said."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    hands = Hands(tmp_path, key=choose_key(None))
    hands.plug(CROSSED)
    hands.wish("mend")
    for _ in range(4):  # that it cannot be told which plug it is: one is made anew on trust
        if hands.step().kind == "ask":
            hands.wish("answer", ["yes" if "reach" in hands.step().now else "?"])
    assert hands.step().kind == "card"
    hands.tester.cable = Cable(1, SOUND)
    hands.wish("did")
    hands.turns()
    hands.wish("not-moved")
    assert hands.step().verdict == "pass"
    before = kept(hands)
    assert "follows the one before" in hands.wish("keep", photo=PHOTOS[0]).text
    assert {name: kept(hands)[name] for name in before} == before
    found, mended, photographed = chain(hands)
    assert [one.record.diagnosis["verdict"] for one in (found, mended, photographed)] == ["fail", "pass", "pass"]
    assert found.record.job.re_terminated == ""
    assert mended.record.job.re_terminated == photographed.record.job.re_terminated != ""
    assert mended.record.job.note == photographed.record.job.note
    assert [len(one.record.job.photos) for one in (found, mended, photographed)] == [0, 0, 1]
    assert run("verify", str(hands.book.folder)).code == 0


class _KilledError(BaseException):
    """The program is gone: nothing catches it."""


def _killed_at(write: Callable[..., Any], left: list[int], is_done: bool) -> Callable[..., Any]:
    """Return a writer that is killed at one of its calls, before it writes or after."""

    def killed(*given: Any, **named: Any) -> Any:
        left[0] -= 1
        if left[0] == 0 and not is_done:
            raise _KilledError
        found = write(*given, **named)
        if left[0] == 0:
            raise _KilledError
        return found

    return killed


@pytest.mark.parametrize("is_done", [False, True])
def test_killed_at_any_write_a_photo_after_keep_is_kept_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, is_done: bool
) -> None:
    """Killed before or after each thing it writes, started again and sent the same photo: two records, one photo."""
    deaths = 0
    for at in range(1, 20):
        hands = Hands(tmp_path / str(at))
        hands.plug(SOUND)
        hands.wish("keep")
        (first,) = kept(hands).items()
        left = [at]
        with monkeypatch.context() as patch:
            for name in ("write_new", "write_handset"):
                patch.setattr(handset_book, name, _killed_at(getattr(handset_book, name), left, is_done))
            try:
                hands.wish("keep", test=1, mark="photo-0001", photo=PHOTOS[0])
            except _KilledError:
                deaths += 1
        then = hands.again()
        assert then.wish("keep", test=1, mark="photo-0001", photo=PHOTOS[0]).ok
        assert kept(then)[first[0]] == first[1]
        one, two = chain(then)
        assert (len(one.record.job.photos), len(two.record.job.photos)) == (0, 1)
        assert [path.read_bytes() for path in then.book.folder.glob("*.jpg")] == [PHOTOS[0]]
        assert then.view().handset.shots[0].is_kept
        if left[0] > 0:
            break
    assert deaths >= 4  # the photo, that it is there, the record, that it is kept
    assert deaths == at - 1 - is_done  # a name that was taken was tried, and nothing is written then
