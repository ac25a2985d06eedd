"""Whether a capture is as it was written, who signed it, and whether its verdict follows from its reading."""

import os
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import Literal

from msgspec import Struct

from wiremap.cable.limits import limits
from wiremap.errors import FileError, WiremapError
from wiremap.judge.verdict import JUDGING
from wiremap.reading.reading import Origin, Reading
from wiremap.records.canonical import HINT
from wiremap.records.captures.capture import Capture, Record, read_capture
from wiremap.records.captures.chain import ChainLink
from wiremap.records.captures.photos import PhotoState, photo_states
from wiremap.records.captures.rejudge import differs, rejudge
from wiremap.records.captures.seal import digest, read_seal, signature_holds

SignatureState = Literal["none", "known", "unknown", "wrong"]
CalibrationState = Literal["none", "in-date", "old", "other-tester", "later"]
VerdictState = Literal["same", "verdict-differs", "findings-differ", "other-rules", "cannot-be-judged"]
LONGEST_CALIBRATION_DAYS = 366  # common practice, no source: once a year


class Checked(Struct, frozen=True):
    """What was found of one capture.

    digest: of the record's line as it is; digest_holds: whether the seal says the same. signer: what the user calls
    the key, None = not known. capture None: the bytes were changed so that they are no record any more. calibration:
    of the tester, at the time of the test. verdict "other-rules": it was judged by rules of another number, and by
    today's something else is said; what it says may well follow from those of its time. judging: that number, None =
    not read. own_limits: limits other than those that ship were used. photos: how each lies beside the capture.
    made_utc: of the record, None = not read.
    """

    source: str
    digest: str
    digest_holds: bool
    signature: SignatureState = "none"
    key: str | None = None
    signer: str | None = None
    verdict: VerdictState = "cannot-be-judged"
    verdict_then: str | None = None
    verdict_now: str | None = None
    calibration: CalibrationState = "none"
    own_limits: bool = False
    judging: int | None = None
    capture: Capture | None = None
    origin: Origin = "unknown"
    photos: tuple[tuple[str, PhotoState], ...] = ()
    made_utc: str | None = None

    def link(self) -> ChainLink | None:
        """Return what the chain needs, None where the record cannot be read."""
        if self.capture is None:
            return None
        record = self.capture.record
        lot, number = (record.lot.name, record.lot.number) if record.lot else (None, None)
        return ChainLink(
            self.source, self.digest, record.before, lot, number, record.made_utc, self.signature != "none"
        )


def check(content: bytes, source: str, known: Mapping[str, str], folder: Path | None = None) -> Checked:
    """Return what is found of a capture's bytes; FileError when they are no capture.

    known: public keys, hex, and what the user calls them. folder: where it lies, with its photos; None = these are not
    looked at.
    """
    first, feed, rest = content.partition(b"\n")
    if not feed or not rest.endswith(b"\n"):
        raise FileError(f"{source}: a capture has two lines, each ending with a line feed", HINT)
    mark = read_seal(rest[:-1], f"{source}: line 2")
    is_now = digest(first + b"\n")
    if is_now != mark.digest:
        return Checked(source, is_now, False, "none" if mark.key is None else "wrong", mark.key)
    capture = read_capture(content, source)
    record = capture.record
    signature: SignatureState = "none"
    if mark.key is not None:
        holds = signature_holds(capture.line, mark)
        signature = "wrong" if not holds else "known" if mark.key in known else "unknown"
    verdict, now = _verdict(capture)
    then = record.diagnosis.get("verdict")
    return Checked(
        source,
        is_now,
        True,
        signature,
        mark.key,
        known.get(mark.key or ""),
        verdict,
        then if isinstance(then, str) else None,
        now,
        calibration_state(capture.reading, record.made_utc),
        _own_limits(record),
        record.judging,
        capture,
        capture.reading.origin,
        () if folder is None else photo_states(record, folder),
        record.made_utc,
    )


def _own_limits(record: Record) -> bool:
    """Whether limits other than those that ship were used; one that the record's version did not know is none."""
    try:
        return record.own_limits() != limits()
    except FileError:
        return True


def _verdict(capture: Capture) -> tuple[VerdictState, str | None]:
    try:
        now = rejudge(capture.record, capture.reading)
    except WiremapError:
        return "cannot-be-judged", None
    states: dict[str | None, VerdictState] = {None: "same", "verdict": "verdict-differs", "findings": "findings-differ"}
    state = states[differs(capture.record, now)]
    if state != "same" and capture.record.judging != JUDGING:
        state = "other-rules"
    return state, now.verdict


def calibration_state(reading: Reading, made_utc: str) -> CalibrationState:
    """Return whether the tester's calibration was in date when the capture was made."""
    calibration = reading.calibration
    if calibration is None:
        return "none"
    if reading.tester is None or reading.tester.serial != calibration.tester_serial:
        return "other-tester"
    try:
        age = datetime.fromisoformat(made_utc) - datetime.fromisoformat(calibration.made_utc)
    except (ValueError, TypeError):
        return "old"
    if age.total_seconds() < 0:
        return "later"
    return "in-date" if age.days <= LONGEST_CALIBRATION_DAYS else "old"


def capture_files(path: Path) -> Iterator[Path]:
    """Give a file itself; of a folder every .json file in it and below, in order; links in it are not followed."""
    if not path.is_dir():
        yield path
        return
    for folder, names, files in os.walk(path):
        names.sort()
        for name in sorted(files):
            found = Path(folder, name)
            if found.suffix == ".json" and not name.startswith(".") and not found.is_symlink():
                yield found
