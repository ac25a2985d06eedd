"""A file to a Reading, by content: a capture, a reading in JSON, or a table."""

import codecs
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from wiremap.cable.connectors import Connector
from wiremap.errors import FileError
from wiremap.files import read_at_most
from wiremap.reading.reading import Reading, from_json
from wiremap.reading.table import from_table
from wiremap.reading.table_cells import CellMeaning
from wiremap.records.canonical import HINT, LARGEST_RECORD_BYTES

if TYPE_CHECKING:
    from wiremap.reading.talk.language import Language
    from wiremap.records.captures.capture import Capture, Record

TOO_LARGE = "No reading or capture is. " + HINT


class Loaded(Struct, frozen=True):
    """What was in a file: the reading, and the capture it came from, None when it was a reading alone.

    read_as: how a table was read ("near rows, far columns, 1 = joined, 0 = open"), "" when it was no table.
    """

    source: str
    reading: Reading
    capture: "Capture | None" = None
    read_as: str = ""

    @property
    def record(self) -> "Record | None":
        """Return the record, None when the file was a reading alone."""
        return self.capture.record if self.capture else None


def load(
    path: Path, cells: CellMeaning | None = None, near: Connector | None = None, far: Connector | None = None
) -> Loaded:
    """Read a reading from a file; see `load_content`. FileError when it cannot be read."""
    return load_content(read_bounded(path), str(path), cells, near, far)


def load_content(
    content: bytes,
    source: str,
    cells: CellMeaning | None = None,
    near: Connector | None = None,
    far: Connector | None = None,
    talks: "Language | None" = None,
) -> Loaded:
    """Return the reading in a file's bytes; FileError names the source and the place that is wrong.

    cells, near, far: what a table cannot say of itself, see `table.from_table`. talks: the language of a tester whose
    text it is; without one, text that is no table alone must name both ends itself. A capture whose bytes do
    not have the digest that its seal says is refused.
    """
    if talks is not None and not looks_like_capture(content):
        return _talk(content, source, near, talks)
    if content.removeprefix(codecs.BOM_UTF8).lstrip()[:1] != b"{":
        try:
            table = from_table(content, source, cells, near, far)
            return Loaded(source, table.reading, read_as=table.read_as)
        except FileError as error:
            return _talk_instead(content, source, near, error)
    if not looks_like_capture(content):
        try:
            return Loaded(source, from_json(content))
        except FileError as error:
            return _talk_instead(content, source, near, FileError(f"{source}: {error.what}", error.hint))
    from wiremap.records.captures.capture import read_capture  # a reading alone needs nothing of it, and starts faster

    capture = read_capture(content, source)
    if capture.seal.digest != capture.digest:
        raise FileError(
            f"{source}: the record was changed after it was written; its digest is {capture.digest}",
            "Ask for the file as it was written; `wiremap verify` tells more.",
        )
    return Loaded(source, capture.reading, capture)


def _talk(content: bytes, source: str, near: Connector | None, talks: "Language | None") -> Loaded:
    from wiremap.reading.talk.heard import plain_contacts, reading_of, recognised, understood

    said = understood(content, source, talks) if talks else recognised(content, source, plain_contacts(near))
    return Loaded(source, reading_of(said, "table"), read_as=said.read_as)


def _talk_instead(content: bytes, source: str, near: Connector | None, why: FileError) -> Loaded:
    """Return what the text of a tester says where a file is nothing else; else raise why it is nothing else."""
    from wiremap.reading.talk.heard import NoTalkError

    try:
        return _talk(content, source, near, None)
    except NoTalkError:
        raise why from None


def looks_like_capture(content: bytes) -> bool:
    """Whether JSON is meant as a capture: its first line holds a record's first key, or it has a seal."""
    first, _, rest = content.partition(b"\n")
    return first.startswith(b'{"before":') or rest.startswith(b'{"digest":')


def read_bounded(path: Path) -> bytes:
    """Return a file's bytes; FileError when it cannot be read or is larger than any file of ours, unread."""
    content = read_at_most(path, LARGEST_RECORD_BYTES, TOO_LARGE)
    if not content.strip():
        raise FileError(f"{path}: is empty", "Give a reading (CSV or JSON) or a capture.")
    return content
