"""Photos that a record names, whether they lie beside it as they were; and a record that adds to an earlier one."""

from pathlib import Path
from typing import Any, Literal

import msgspec

from wiremap.errors import FileError, UsageError
from wiremap.files import is_there, read_at_most
from wiremap.records.canonical import decode
from wiremap.records.captures.capture import LARGEST_PHOTO_BYTES, Capture, Job, Photo, Record, Work
from wiremap.records.captures.seal import digest
from wiremap.version import SOFTWARE

PhotoState = Literal["as-recorded", "changed", "not-there", "unreadable", "no-name"]
OF_THE_TEST = ("cable", "near", "far", "re_terminated")  # words of a job that nothing said later changes
OTHER_SYSTEMS = "\\:"  # what parts folders where other systems are used


def photo_states(record: Record, folder: Path) -> tuple[tuple[str, PhotoState], ...]:
    """Return each photo's name, and how it is in the folder where the capture lies.

    no-name: what the record calls it is no name of a file, so none is opened.
    """
    return tuple((photo.file, _state(photo, folder)) for photo in record.job.photos)


def _state(photo: Photo, folder: Path) -> PhotoState:
    name = photo.file
    if name != Path(name).name or name in ("", ".", "..") or any(sign in name for sign in OTHER_SYSTEMS):
        return "no-name"
    if not name.isprintable():
        return "no-name"
    path = folder / name
    if not is_there(path):
        return "not-there"
    try:
        content = read_at_most(path, LARGEST_PHOTO_BYTES, "")
    except FileError:
        return "unreadable"
    return "as-recorded" if digest(content) == photo.digest else "changed"


def added(capture: Capture, job: Job, work: tuple[Work, ...]) -> dict[str, Any]:
    """Return the record that follows a capture and adds to what is said of its test, as plain values.

    The reading, what was said of it, and when it was made stay as they are; so does the capture itself. job: photos
    join those that are there, a note stands behind the earlier one, other words are for what nobody said. UsageError
    where a word is another one than the record's, or nothing is added.
    """
    record = capture.record
    found = _joined(record.job, job)
    if found == record.job and not work:
        raise UsageError("nothing is added to the capture", "Say what, as --job photo=FILE or --job note=TEXT.")
    plain: dict[str, Any] = decode(capture.line.rstrip(b"\n"), "record")
    said = {"job": msgspec.to_builtins(found), "software": SOFTWARE, "follows": capture.digest}
    if work:
        said["work"] = msgspec.to_builtins(work)
    return plain | {"before": None, "lot": None} | said


def _joined(before: Job, said: Job) -> Job:
    words: dict[str, str] = {}
    for name in Job.__struct_fields__:
        old, new = getattr(before, name), getattr(said, name)
        if name == "photos" or not new or new == old:
            continue
        if name == "note" and old:
            words[name] = f"{old}; {new}"
        elif old or name in OF_THE_TEST:
            raise UsageError(
                f"--job {name.replace('_', '-')}={new}: the capture says {old or 'nothing'}",
                "What is added later changes nothing that was said; put it into a note.",
            )
        else:
            words[name] = new
    photos = (*before.photos, *(photo for photo in said.photos if photo not in before.photos))
    return msgspec.structs.replace(before, photos=photos, **words)
