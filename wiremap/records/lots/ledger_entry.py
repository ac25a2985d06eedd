"""One line of a lot's ledger: what it holds, and its bytes."""

from typing import Annotated, Any, Literal

import msgspec

from wiremap.errors import FileError
from wiremap.judge.findings import Verdict
from wiremap.reading.reading import Origin
from wiremap.records.canonical import encode
from wiremap.records.captures.seal import digest

FORMAT = 1
LARGEST_LEDGER_BYTES = 500_000_000  # a million lines
MOST_LEDGER_LINES = 10_000_000  # no number of a line is above it, whatever a ledger says
HINT = "A ledger is written by wiremap and never edited; `wiremap lots --rebuild LOT` makes it again from the captures."

LineNumber = Annotated[int, msgspec.Meta(ge=1, le=MOST_LEDGER_LINES)]
EntryKind = Literal["test", "unshown", "reference", "note", "undo", "skip"]


class LedgerFault(msgspec.Struct, frozen=True, omit_defaults=True, gc=False):
    """One fault of a test, as a ledger keeps it: the kind, the contacts at each end, the end it is at."""

    fault: str
    near: tuple[str, ...] = ()
    far: tuple[str, ...] = ()
    end: Literal["near", "far", "run"] | None = None


class Entry(msgspec.Struct, frozen=True, omit_defaults=True, forbid_unknown_fields=True):
    """One line of a ledger.

    kind: "test"; "unshown": a test whose verdict was never shown, since the program stopped before; "reference": a
    test of the reference cord; "note", "undo" (the label of test `of` was wrong; that test no longer counts),
    "skip" (a label that stays unused).
    number: of the line, from 1. before: digest of the line before with its LF, None in the first line.
    made_utc: "YYYY-MM-DDTHH:MM:SSZ". label: the cable's. of: the test this one repeats, or that a note or undo is
    about. verdict, faults: as judged. capture, file: digest and file name of the capture. tester: serial number.
    insertion: how many cables this tester's sockets have taken so far; reference_due: at how many the reference cord
        is to be tested again.
    origin: where the reading comes from.
    contact_ohm: median resistance of the conductors that arrive, ohms. length_m: as measured. None = not known.
    """

    format: int
    kind: EntryKind
    number: LineNumber
    made_utc: str
    label: str = ""
    before: str | None = None
    of: LineNumber | None = None
    verdict: Verdict | None = None
    faults: tuple[LedgerFault, ...] = ()
    capture: str | None = None
    file: str | None = None
    tester: str | None = None
    insertion: int | None = None
    reference_due: int | None = None
    contact_ohm: float | None = None
    length_m: float | None = None
    text: str = ""
    origin: Origin = "unknown"

    def counted(self, of: int | None, insertion: int, reference_due: int) -> "Entry":
        """Return the entry with its place in the lot: the test it repeats, the insertion, when a reference is due."""
        return msgspec.structs.replace(self, of=of, insertion=insertion, reference_due=reference_due)


def line_of(entry: Entry) -> bytes:
    """Return the entry as one line of canonical JSON, its LF included."""
    plain: dict[str, Any] = msgspec.to_builtins(entry)
    return encode(plain) + b"\n"


_decoder = msgspec.json.Decoder(Entry)


def entry_of(line: bytes, place: str) -> Entry:
    """Return the entry in a line (its LF left off); FileError names the place when it is none."""
    try:
        entry = _decoder.decode(line)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise FileError(f"{place}: no line of a ledger ({error})", HINT) from error
    if entry.format != FORMAT:
        raise FileError(f"{place}: format is {entry.format}", f"This version reads format {FORMAT}.")
    return entry


def line_digest(line: bytes) -> str:
    """Return what the next line names as `before`; line with its LF."""
    return digest(line)
