"""Photos beside a capture, and a record that adds to one: what was kept stays, what was changed is seen."""

import hashlib
import os
from pathlib import Path

import msgspec
import pytest

from tests.records.samples import content, plain_record, published_key
from wiremap.errors import UsageError
from wiremap.records.captures.capture import Capture, Job, Photo, Work, read_capture, to_bytes
from wiremap.records.captures.check import check
from wiremap.records.captures.photos import PhotoState, added, photo_states
from wiremap.report.words.records import verified

PLUG = b"\xff\xd8\xff a plug \xff\xd9"


def photo(name: str, of: bytes = PLUG) -> Photo:
    """Return a photo as a record has it; its digest worked out beside the product."""
    return Photo(name, "sha256:" + hashlib.sha256(of).hexdigest())


def capture_with(*photos: Photo) -> Capture:
    """Return a capture that names photos."""
    plain = plain_record()
    plain["job"] = msgspec.to_builtins(Job(cable="W-1", note="bent boot", photos=photos))
    return read_capture(to_bytes(plain, published_key()), "x")


@pytest.mark.parametrize(
    ("name", "lies", "state"),
    [
        ("plug.jpg", PLUG, "as-recorded"),
        ("plug.jpg", PLUG[:-1], "changed"),
        ("plug.jpg", b"", "changed"),
        ("plug.jpg", None, "not-there"),
        ("../plug.jpg", PLUG, "no-name"),
        ("/etc/hostname", None, "no-name"),
        ("a\\plug.jpg", PLUG, "no-name"),
        ("C:plug.jpg", PLUG, "no-name"),
        ("..", None, "no-name"),
        ("", None, "no-name"),
        ("plug\x1b[H.jpg", None, "no-name"),
    ],
)
def test_a_photo_is_held_against_its_digest(tmp_path: Path, name: str, lies: bytes | None, state: PhotoState) -> None:
    """As it was, changed by a byte or emptied, gone; and no name leads to a file elsewhere."""
    folder = tmp_path / "captures"
    folder.mkdir()
    if lies is not None:
        (folder / "plug.jpg").write_bytes(lies)
    (tmp_path / "plug.jpg").write_bytes(PLUG)
    found = capture_with(photo(name))
    assert photo_states(found.record, folder) == ((name, state),)
    sound = to_bytes(msgspec.to_builtins(found.record), published_key())
    problems, notes = verified(check(sound, "x", {}, folder), "single", False)
    assert bool(problems) == (state in ("changed", "no-name"))
    assert ("1 photo as recorded" in notes) == (state == "as-recorded")
    assert (f"the photo {name} is not beside it" in notes) == (state == "not-there")
    assert check(sound, "x", {}).photos == ()


def test_what_is_no_file_is_no_photo(tmp_path: Path) -> None:
    """A folder or a pipe of the photo's name is said at once, and so is a link that leads nowhere."""
    (tmp_path / "folder.jpg").mkdir()
    (tmp_path / "link.jpg").symlink_to(tmp_path / "gone.jpg")
    names = ["folder.jpg", "link.jpg"]
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.jpg")
        names.append("pipe.jpg")
    found = photo_states(capture_with(*map(photo, names)).record, tmp_path)
    assert found == tuple((name, "unreadable") for name in names)
    checked = msgspec.structs.replace(check(content(), "x", {}), photos=found)
    assert "the photo link.jpg cannot be read" in verified(checked, "single", False)[0]


def test_what_is_added_follows_and_changes_nothing() -> None:
    """Reading, diagnosis, moment and limits are those of the first, letter for letter; photos and notes join."""
    first = capture_with(photo("a.jpg"))
    plain = added(first, Job(note="seen aloft", who="me", photos=(photo("b.jpg"),)), (Work("power off", True),))
    second = read_capture(to_bytes(plain, published_key()), "y")
    assert second.record.follows == first.digest
    assert second.record.job == Job(
        cable="W-1", note="bent boot; seen aloft", who="me", photos=(photo("a.jpg"), photo("b.jpg"))
    )
    assert second.record.work == (Work("power off", True),)
    before, after = (msgspec.to_builtins(one.record) for one in (first, second))
    assert {name for name in before if before[name] != after[name]} <= {"job", "work", "follows", "software", "lot"}
    assert check(to_bytes(plain, None), "y", {}).verdict == check(content(), "x", {}).verdict


@pytest.mark.parametrize(
    ("job", "says"),
    [
        (Job(), "nothing is added"),
        (Job(photos=(photo("a.jpg"),)), "nothing is added"),
        (Job(cable="W-1"), "nothing is added"),
        (Job(cable="W-2"), "--job cable=W-2: the capture says W-1"),
        (Job(near="helm"), "--job near=helm: the capture says nothing"),
        (Job(re_terminated="far"), "--job re-terminated=far: the capture says nothing"),
    ],
)
def test_what_contradicts_or_adds_nothing_is_refused(job: Job, says: str) -> None:
    """Another label, another end, a new plug: none of these is added later to a test that was made."""
    with pytest.raises(UsageError, match=says):
        added(capture_with(photo("a.jpg")), job, ())
