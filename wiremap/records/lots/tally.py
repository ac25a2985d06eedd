"""The tests of a lot in columns, as its ledger's lines come; those that were taken back are left out at the end."""

from array import array
from collections.abc import Sequence
from typing import TypeVar

import msgspec
import numpy as np
from msgspec import Struct

from wiremap.errors import spelled_out
from wiremap.judge.findings import VERDICTS, Verdict
from wiremap.reading.reading import Origin
from wiremap.records.lots.ledger_entry import Entry, EntryKind, LedgerFault, LineNumber

Named = TypeVar("Named")
Counts = np.ndarray[tuple[int], np.dtype[np.signedinteger]]
Floats = np.ndarray[tuple[int], np.dtype[np.float64]]
WHOLE = {"number": "q", "of": "q", "verdict": "b", "hour": "i", "faults": "i", "origin": "b"}  # as `array` names them
PASSED = VERDICTS.index("pass")
CODES: dict[Verdict | None, int] = {word: code for code, word in enumerate(VERDICTS)} | {None: 2}


class LedgerLine(msgspec.Struct, frozen=True, gc=False):
    """What statistics need of a line of a ledger; see `ledger_entry.Entry`."""

    kind: EntryKind
    number: LineNumber
    made_utc: str = ""
    label: str = ""
    of: LineNumber | None = None
    verdict: Verdict | None = None
    faults: tuple[LedgerFault, ...] = ()
    contact_ohm: float | None = None
    length_m: float | None = None
    origin: Origin = "unknown"


class Numbered(dict[Named, int]):
    """Numbers things from 0 in the order in which they first come; `list(...)` gives them back by number."""

    def __missing__(self, key: Named) -> int:
        self[key] = len(self)
        return self[key]


class Tests(Struct, frozen=True, eq=False):
    """The tests of a lot that stand, in columns of one length, in the order of the ledger.

    number: of the ledger's line. of: the test it repeats, 0 = it is the label's first. verdict: index in VERDICTS.
    hour, faults, origin: indices in `hours`, `fault_lists`, `origins`. contact_ohm, length_m: NaN = not known.
    labels: of the tests that did not pass.
    """

    number: Counts
    of: Counts
    verdict: Counts
    hour: Counts
    faults: Counts
    origin: Counts
    contact_ohm: Floats
    length_m: Floats
    hours: Sequence[str]
    fault_lists: Sequence[tuple[LedgerFault, ...]]
    origins: Sequence[Origin]
    labels: Sequence[str]

    def next_numbers(self) -> Counts:
        """Return, by number of a test, that of the next test of the same cable; 0 = none, it is the newest.

        Two repeat one test where a test between them was taken back and the ledger was made again, which loses that.
        """
        following = np.zeros(int(self.number.max(initial=0)) + 1, dtype=np.int64)
        stands = np.zeros(len(following), dtype=bool)
        stands[self.number] = True
        later = np.flatnonzero((self.of > 0) & (self.of < self.number))
        later = later[stands[self.of[later]]]
        later = later[np.argsort(self.of[later], kind="stable")]
        of, number = self.of[later], self.number[later]
        beside = np.flatnonzero(of[1:] == of[:-1])
        following[number[beside]] = number[beside + 1]
        first = np.flatnonzero(np.diff(of, prepend=0))
        following[of[first]] = number[first]
        return following


class Tally:
    """Takes the lines of one ledger as they come."""

    def __init__(self) -> None:
        self.undone: list[int] = []
        self.reference_ohm = array("d")
        self._whole = {name: array(kind) for name, kind in WHOLE.items()}
        self._broken = {name: array("d") for name in ("contact_ohm", "length_m")}
        self._hours = Numbered[str]()
        self._faults = Numbered[tuple[LedgerFault, ...]]()
        self._origins = Numbered[Origin]()
        self._labels: list[str] = []

    def add(self, lines: Sequence[LedgerLine | Entry]) -> None:
        """Take some more lines."""
        tests = [line for line in lines if line.kind == "test"]
        whole, nan = self._whole, float("nan")
        whole["number"].extend([line.number for line in tests])
        whole["of"].extend([line.of or 0 for line in tests])
        whole["verdict"].extend([CODES[line.verdict] for line in tests])
        whole["hour"].extend([self._hours[line.made_utc[:13]] for line in tests])
        whole["faults"].extend([self._faults[line.faults] for line in tests])
        whole["origin"].extend([self._origins[line.origin] for line in tests])
        self._broken["contact_ohm"].extend([nan if line.contact_ohm is None else line.contact_ohm for line in tests])
        self._broken["length_m"].extend([nan if line.length_m is None else line.length_m for line in tests])
        self._labels += [spelled_out(line.label, lines=False) for line in tests if line.verdict != "pass"]
        if len(tests) != len(lines):
            self.undone += [line.of for line in lines if line.kind == "undo" and line.of is not None]
            references = [line.contact_ohm for line in lines if line.kind == "reference"]
            self.reference_ohm.extend([ohm for ohm in references if ohm is not None])

    def tests(self) -> Tests:
        """Return the tests that stand."""
        whole = {name: np.frombuffer(values, dtype=values.typecode) for name, values in self._whole.items()}
        broken = {name: np.frombuffer(values, dtype=float) for name, values in self._broken.items()}
        labels = self._labels
        if self.undone:
            stands = ~np.isin(whole["number"], np.array(self.undone, dtype=np.int64))
            labels = [label for label, stays in zip(labels, stands[whole["verdict"] != PASSED], strict=True) if stays]
            whole = {name: values[stands] for name, values in whole.items()}
            broken = {name: values[stands] for name, values in broken.items()}
        return Tests(
            number=whole["number"],
            of=whole["of"],
            verdict=whole["verdict"],
            hour=whole["hour"],
            faults=whole["faults"],
            origin=whole["origin"],
            contact_ohm=broken["contact_ohm"],
            length_m=broken["length_m"],
            hours=[spelled_out(hour, lines=False) for hour in self._hours],
            fault_lists=[tuple(map(_spelled_out, faults)) for faults in self._faults],
            origins=list(self._origins),
            labels=labels,
        )


def _spelled_out(fault: LedgerFault) -> LedgerFault:
    """Return a fault whose texts, which any program may have written, are safe to show."""
    near, far = (
        tuple(spelled_out(contact, lines=False) for contact in contacts) for contacts in (fault.near, fault.far)
    )
    return LedgerFault(spelled_out(fault.fault, lines=False), near, far, fault.end)
