"""A lot's ledger held against its captures: what one says and the other does not.

A ledger is not signed, so anyone can write one whose lines follow one another. Its captures say the same things again,
each under a seal of its own: a verdict, label or order that was changed in the ledger alone shows here. What stands in
the ledger alone (notes, labels taken back or skipped, counts of insertions) is held by a signed end of the lot.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Literal

import msgspec

from wiremap.errors import FileError
from wiremap.reading.reading import Ohm, Origin
from wiremap.records.captures.files import read_bounded
from wiremap.records.captures.seal import digest, read_seal
from wiremap.records.lots.ledger_entry import Entry, EntryKind
from wiremap.records.lots.rebuild import CAPTURES, FOLLOWS_SINCE, entry_of_test, lot_captures

SAID_TWICE = ("made_utc", "label", "verdict", "faults", "tester", "contact_ohm", "length_m", "origin")
TESTS = ("test", "unshown", "reference")

DifferenceKind = Literal[
    "no-capture",
    "missing",
    "changed",
    "not-the-one",
    "not-entered",
    "no-line-yet",
    "says-other",
    "order",
    "repeats",
    "unreadable",
]


class Difference(msgspec.Struct, frozen=True):
    """One thing that a lot's ledger and its captures do not agree about.

    kind: "no-capture", a test that names none; "missing", no such file; "changed", the file's record is not what its
    seal says; "not-the-one", it is another record than the ledger names; "not-entered", a capture that no line names;
    "no-line-yet", one that follows the newest that a line names, as a program leaves it that is stopped between;
    "says-other", `what` is said otherwise by the capture; "order", the capture follows another one than the line does;
    "repeats", it repeats another test than the line says; "unreadable", it is no capture.
    line: of the ledger, from 1, None = no line names it. file: name of the capture, "" = none.
    """

    kind: DifferenceKind
    line: int | None
    file: str
    what: str = ""


class _Job(msgspec.Struct):
    cable: str = ""


class _Tester(msgspec.Struct):
    serial: str


class _Reading(msgspec.Struct):
    """What a ledger's line needs of a reading; the rest is passed over, so that a long lot is soon read."""

    near_contacts: tuple[str, ...]
    resistance_ohm: tuple[tuple[Ohm, ...], ...]
    tester: _Tester | None = None
    origin: Origin = "unknown"


class _Record(msgspec.Struct):
    before: str | None
    made_utc: str
    job: _Job
    reading: _Reading
    diagnosis: dict[str, Any]
    judging: int = 1
    follows: str | None = None


_decoder = msgspec.json.Decoder(_Record)


def differences(folder: Path, entries: Sequence[Entry]) -> tuple[Difference, ...]:
    """Return what a lot's ledger and the captures in its folder do not agree about, in the ledger's order.

    entries: of the ledger, whose own chain holds. Nothing is judged again, and no signature is looked at.
    """
    captures = folder / CAPTURES
    there = dict.fromkeys(path.name for _, path in lot_captures(captures)) if captures.is_dir() else {}
    found: list[Difference] = []
    before: str | None = None
    for entry in entries:
        if entry.kind not in TESTS:
            continue
        if entry.capture is None or entry.file is None:
            found.append(Difference("no-capture", entry.number, entry.file or ""))
            continue
        if entry.file not in there or Path(entry.file).name != entry.file:
            found.append(Difference("missing", entry.number, entry.file))
        else:
            del there[entry.file]
            found.extend(_differences(captures / entry.file, entry, entries, before))
        before = entry.capture
    kind: DifferenceKind = "no-line-yet" if _follows(captures, tuple(there), before) else "not-entered"
    found.extend(Difference(kind, None, name) for name in there)
    return tuple(found)


def _follows(captures: Path, names: Sequence[str], before: str | None) -> bool:
    """Whether a capture is the only one without a line, and follows the newest that has one."""
    try:
        return len(names) == 1 and _read(captures / names[0])[1].before == before
    except FileError:
        return False


def _differences(path: Path, entry: Entry, entries: Sequence[Entry], before: str | None) -> list[Difference]:
    """Return what one capture says otherwise than its line; before: digest of the capture that stands before it."""
    assert entry.file is not None
    try:
        line, record = _read(path)
    except FileError as error:
        kind: DifferenceKind = "changed" if error.hint == CHANGED else "unreadable"
        return [Difference(kind, entry.number, entry.file)]
    if digest(line) != entry.capture:
        return [Difference("not-the-one", entry.number, entry.file)]
    found = [
        Difference("says-other", entry.number, entry.file, what)
        for what in _said_otherwise(entry, _line_of_record(record, path.name))
    ]
    if record.before != before:
        found.append(Difference("order", entry.number, entry.file))
    if (
        entry.kind != "unshown"
        and record.judging >= FOLLOWS_SINCE
        and record.follows != repeated_capture(entry, entries)
    ):
        found.append(Difference("repeats", entry.number, entry.file))
    return found


def repeated_capture(entry: Entry, entries: Sequence[Entry]) -> str | None:
    """Return the digest of the capture whose test a line says it repeats, "" where it names no test before it."""
    if entry.of is None:
        return None
    return (entries[entry.of - 1].capture or "") if 0 < entry.of < entry.number else ""


CHANGED = "The record is not what its seal says."


def _read(path: Path) -> tuple[bytes, _Record]:
    """Return a capture's first line, LF included, and what the ledger needs of it; FileError when it is none."""
    content = read_bounded(path)
    line, feed, rest = content.partition(b"\n")
    if read_seal(rest.rstrip(b"\n"), str(path)).digest != digest(line + feed):
        raise FileError(f"{path}: the record was changed after it was written", CHANGED)
    try:
        return line + feed, _decoder.decode(line)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise FileError(f"{path}: no record of a test ({error})", "") from error


def _line_of_record(record: _Record, file: str) -> Entry:
    kind: EntryKind = "test" if record.job.cable else "reference"
    return entry_of_test(kind, record.made_utc, record.job.cable, record.diagnosis, record.reading, "", file)


def _said_otherwise(entry: Entry, again: Entry) -> list[str]:
    ours, theirs = (_plain(each) for each in (entry, again))
    other = [key for key in SAID_TWICE if ours[key] != theirs[key]]
    if (entry.kind == "reference") != (again.kind == "reference"):
        other.append("kind")
    return other


def _plain(entry: Entry) -> Mapping[str, Any]:
    return {key: getattr(entry, key) for key in SAID_TWICE}
