"""A guided repair kept on the disk as it goes on: what was reported is there before anything more is shown."""

import re
from datetime import UTC, datetime
from pathlib import Path
from typing import cast

from msgspec import Struct
from msgspec.structs import replace

from wiremap.bench.mend.events import (
    Answered,
    Asked,
    Deed,
    Did,
    FaultAt,
    Mend,
    MendEvent,
    QuestionKind,
    TakenBack,
    Tested,
    Ticked,
    reported,
)
from wiremap.errors import FileError
from wiremap.reading.reading import from_builtins, to_builtins
from wiremap.records.mend_file import FORMAT, HINT, MendEntry, MendFile, write_mend

FAULT = re.compile(r"([a-z-]+) near ([A-Za-z0-9,]*) far ([A-Za-z0-9,]*)", re.ASCII)


def kept_as(event: MendEvent, at_utc: str = "") -> MendEntry:
    """Return an event as it is kept."""
    match event:
        case Tested(reading, moved, how, seconds, looks, of):
            entry = MendEntry("tested", at_utc, to_builtins(reading), moved, how, seconds, looks)
            return entry if of is None else replace(entry, question=of.kind, end=of.end or "", contacts=of.contacts)
        case Answered(asked, word):
            return MendEntry(
                "answered",
                at_utc,
                question=asked.kind,
                end=asked.end or "",
                contacts=asked.contacts,
                fault=asked.fault,
                word=word,
            )
        case Did(work, end, order, against, place):
            faults = tuple(f"{one.fault} near {','.join(one.near)} far {','.join(one.far)}" for one in against)
            return MendEntry("did", at_utc, work=work, end=end or "", order=order, against=faults, place=place)
        case Ticked(name):
            return MendEntry("ticked", at_utc, word=name)
        case TakenBack():
            return MendEntry("taken-back", at_utc)


def event_kept(entry: MendEntry) -> MendEvent:
    """Return the event that is kept so; FileError where its reading is none, or an answer has no word."""
    end = entry.end or None
    asked = Asked(cast(QuestionKind, entry.question), end, entry.contacts, entry.fault)
    match entry.kind:
        case "tested":
            seen = from_builtins(entry.reading)
            return Tested(seen, entry.moved, entry.how, entry.seconds, entry.looks, asked if entry.question else None)
        case "answered":
            return Answered(asked, entry.word)
        case "did":
            return Did(cast(Deed, entry.work), end, entry.order, tuple(map(_fault, entry.against)), entry.place)
        case "ticked":
            return Ticked(entry.word)
        case "taken-back":
            return TakenBack()


def _fault(text: str) -> FaultAt:
    """Return a fault as it is kept: "open near 3 far 3"; FileError where it is none."""
    found = FAULT.fullmatch(text)
    if found is None:
        raise FileError(f"'{text}' is no fault", HINT)
    near, far = (tuple(part.split(",")) if part else () for part in found.group(2, 3))
    return FaultAt(found[1], near, far)


class MendBook(Struct):
    """A repair and its file; path None = it is kept nowhere."""

    path: Path
    file: MendFile
    mend: Mend

    def report(self, event: MendEvent) -> Mend:
        """Keep an event and return the repair after it; FileError where it cannot be kept: it is not reported then."""
        after = reported(self.mend, event)
        entry = kept_as(event, f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ}")
        self._write(replace(self.file, entries=(*self.file.entries, entry)))
        self.mend = after
        return after

    def keep_before(self, before: Path) -> None:
        """Keep where the capture of the cable as it was found is."""
        self._write(replace(self.file, before=str(before)))

    def end(self) -> None:
        """Keep that the repair is over."""
        self._write(replace(self.file, over=True))

    def _write(self, file: MendFile) -> None:
        write_mend(self.path, file)
        self.file = file


def begun(path: Path, mend: Mend, options: dict[str, str | bool | int | tuple[str, ...]]) -> MendBook:
    """Return the book of a repair that begins; nothing is written before something is reported."""
    return MendBook(path, MendFile(FORMAT, options), mend)


def gone_on(path: Path, file: MendFile, mend: Mend) -> MendBook:
    """Return the book of a repair that was interrupted, all that was reported of it in place; FileError for junk."""
    try:
        events = tuple(map(event_kept, file.entries))
    except FileError as error:
        raise FileError(f"{path}: {error.what}", HINT) from error
    return MendBook(path, file, replace(mend, events=events))
