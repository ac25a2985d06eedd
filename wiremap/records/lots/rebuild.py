"""From a lot's captures to the lines of its ledger."""

import re
import statistics
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Protocol

import msgspec

from wiremap.cable.limits import limits
from wiremap.errors import FileError
from wiremap.reading.joined import is_joined
from wiremap.reading.reading import Ohm, Origin, from_builtins
from wiremap.records.canonical import HINT
from wiremap.records.captures.capture import read_capture
from wiremap.records.captures.files import read_bounded
from wiremap.records.lots.ledger_entry import FORMAT, Entry, EntryKind, LedgerFault

CAPTURES = "captures"
FOLLOWS_SINCE = 2  # the number of the rules from which a record names the test that it repeats
CAPTURE_FILE = re.compile(r"(\d{5,})(-.*)?\.json")


def capture_name(number: int, label: str) -> str:
    """Return the file name of a lot's capture: its number from 1, then its label as far as a file name may hold it."""
    safe = "".join(letter if letter.isalnum() or letter in "-_" else "-" for letter in label)[:40]
    return f"{number:05d}-{safe}.json" if safe else f"{number:05d}.json"


def lot_captures(folder: Path) -> list[tuple[int, Path]]:
    """Return the captures of a lot with their numbers, in order."""
    found = [(int(match[1]), path) for path in folder.iterdir() if (match := CAPTURE_FILE.fullmatch(path.name))]
    return sorted(found)


def entry_and_follows(path: Path) -> tuple[Entry, str | None, bool]:
    """Return the line that a capture gives, the digest of the test it repeats, and whether it would name one.

    One without a label is of the reference cord. FileError when it is no capture, or was changed after it was written.
    """
    capture = read_capture(read_bounded(path), str(path))
    if capture.seal.digest != capture.digest:
        raise FileError(f"{path}: the record was changed after it was written", HINT)
    record = capture.record
    reading = from_builtins(record.reading)
    entry = entry_of_test(
        "test" if record.job.cable else "reference",
        record.made_utc,
        record.job.cable,
        record.diagnosis,
        reading,
        capture.digest,
        path.name,
    )
    return entry, record.follows, record.judging >= FOLLOWS_SINCE


class TesterSeen(Protocol):
    """The tester of a reading, as far as a ledger names it."""

    @property
    def serial(self) -> str:
        """Return its serial number."""


class ReadingSeen(Protocol):
    """A reading, as far as a ledger's line needs it; see `Reading` for what each of it means."""

    @property
    def near_contacts(self) -> tuple[str, ...]:
        """Return the near plug's contacts."""

    @property
    def resistance_ohm(self) -> tuple[tuple[Ohm, ...], ...]:
        """Return the square of ohms over near, then far contacts."""

    @property
    def tester(self) -> TesterSeen | None:
        """Return the tester, None = not known."""

    @property
    def origin(self) -> Origin:
        """Return where it comes from."""


def entry_of_test(
    kind: EntryKind,
    made_utc: str,
    label: str,
    diagnosis: dict[str, Any],
    reading: ReadingSeen,
    capture: str,
    file: str,
) -> Entry:
    """Return the line of one test, its place in the ledger still to be filled in; diagnosis as plain values."""
    return Entry(
        FORMAT,
        kind,
        0,
        made_utc,
        label=label,
        verdict=diagnosis["verdict"],
        faults=tuple(
            msgspec.convert({key: finding.get(key) for key in ("fault", "near", "far", "end")}, LedgerFault)
            for finding in diagnosis["findings"]
        ),
        capture=capture,
        file=file,
        tester=reading.tester.serial if reading.tester else None,
        contact_ohm=conductor_ohm(reading),
        length_m=_length_m(diagnosis.get("lengths")),
        origin=reading.origin,
    )


def conductor_ohm(reading: ReadingSeen) -> float | None:
    """Return the median resistance of what is joined between near and far contacts, ohms; None when nothing is.

    For each near contact the far contact it reaches best counts. Cables of one length share the same copper, so
    what rises over a lot is contacts.
    """
    size = len(reading.near_contacts)
    most_ohm = limits().high_resistance_ohm
    best = [_lowest(reading.resistance_ohm[near][size:], most_ohm) for near in range(size)]
    found = [ohm for ohm in best if ohm is not None]
    return round(statistics.median(found), 6) if found else None


def _lowest(row: Sequence[Ohm], most_ohm: float) -> float | None:
    numbers = [float(ohm) for ohm in row if isinstance(ohm, int | float) and is_joined(ohm, most_ohm)]
    return min(numbers, default=None)


def _length_m(lengths: object) -> float | None:
    """Return the cable's length from a diagnosis's lengths (that of no single pair), None when none was made."""
    if not isinstance(lengths, list):
        return None
    whole = [item for item in lengths if isinstance(item, dict) and item.get("pair") is None and "length_m" in item]
    return float(whole[-1]["length_m"]) if whole else None
