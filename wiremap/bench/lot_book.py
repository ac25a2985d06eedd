"""Keeps the tests of a lot: a capture each, then a line in the ledger, both on the disk before the verdict shows."""

import shutil
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from msgspec.structs import replace

from wiremap.bench.sweep import Sweep, free
from wiremap.bench.sweep_events import KeepRecord, Labels, Last, Plan
from wiremap.errors import FileError
from wiremap.judge.case import Case
from wiremap.records.broken import keeping
from wiremap.records.captures.capture import Job, Lot, to_bytes
from wiremap.records.captures.keep import record_of
from wiremap.records.captures.seal import digest
from wiremap.records.keys import Key
from wiremap.records.lots.ledger import Ledger
from wiremap.records.lots.ledger_entry import FORMAT, Entry, EntryKind
from wiremap.records.lots.plan import LotPlan
from wiremap.records.lots.rebuild import capture_name, entry_of_test
from wiremap.records.new_file import as_file_error, write_new_file

LEAST_ROOM_BYTES = 4_000_000
MAKE_ROOM = "Make room on the disk and test this cable again."


class LotBook:
    """The lot's captures and its ledger, as the sweep's driver keeps them."""

    def __init__(self, ledger: Ledger, lot: str, plan: LotPlan, key: Key | None) -> None:
        self.ledger = ledger
        self._lot = lot
        self._plan = plan
        self._key = key
        self._unseen: Path | None = None  # the capture of a test that never came into the ledger

    def check_room(self) -> None:
        """Raise FileError when the disk has no room for another test."""
        free = shutil.disk_usage(self.ledger.folder).free
        if free < LEAST_ROOM_BYTES:
            raise FileError(
                f"{self.ledger.folder}: only {free} bytes are free",
                "Make room on the disk; nothing was lost, and this cable is tested when there is room.",
            )

    def record(self, wanted: KeepRecord) -> int:
        """Keep a test: capture, then ledger line; return its number there.

        ProgramError when the program fails at it; what was measured is kept aside.
        """
        case = wanted.outcome.test
        assert isinstance(case, Case)
        with keeping(case.reading):
            return self._recorded(wanted, case)

    def _recorded(self, wanted: KeepRecord, case: Case) -> int:
        number = self.ledger.capture_count + 1
        before = self.ledger.last_capture
        kept = record_of(
            case,
            Job(cable=wanted.label, near=self._plan.near, far=self._plan.far),
            lot=Lot(self._lot, number),
            before=before.capture if before else None,
            follows=None if wanted.of is None else self.ledger.entries[wanted.of - 1].capture,
        )
        content = to_bytes(kept, self._key)
        path = self.ledger.captures_folder / capture_name(number, wanted.label)
        kind: EntryKind = "reference" if wanted.reference else "test"
        line = content[: content.index(b"\n") + 1]
        entry = entry_of_test(
            kind, kept["made_utc"], wanted.label, kept["diagnosis"], case.reading, digest(line), path.name
        )
        entry = entry.counted(wanted.of, wanted.insertion, wanted.reference_due)
        self._take_away_unseen()
        write_new_file(path, content, MAKE_ROOM)
        self._unseen = path
        try:
            entered = self.ledger.append(entry)
        except FileError:
            with suppress(FileError):  # what cannot be taken away now is before the next test
                self._take_away_unseen()
            raise
        self._unseen = None
        return entered.number

    def _take_away_unseen(self) -> None:
        """Take away the capture of a test that never came into the ledger: nobody saw its verdict."""
        if self._unseen is not None:
            with as_file_error(self._unseen, MAKE_ROOM):
                self._unseen.unlink(missing_ok=True)
        self._unseen = None

    def undo(self, last: Last) -> None:
        """Enter that a label was wrong."""
        self._enter("undo", last.label, last.number)

    def skip(self, label: str) -> None:
        """Enter that a label stays unused."""
        self._enter("skip", label)

    def note(self, last: Last, text: str) -> None:
        """Enter a note on a test."""
        self._enter("note", last.label, last.number, text)

    def _enter(self, kind: EntryKind, label: str, of: int | None = None, text: str = "") -> None:
        now = f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ}"
        self.ledger.append(Entry(FORMAT, kind, 0, now, label=label, of=of, text=text))


def resumed(entries: list[Entry], plan: Plan, newest: Entry | None = None) -> Sweep:
    """Return where a lot stands, from its ledger; the next cable is plugged in anew.

    newest: the line, of any lot, with the highest count of insertions of the tester at hand, None = it is new here.
    """
    labels: dict[str, int] = {}
    skipped: set[str] = set()
    tests: dict[int, Entry] = {}
    last: Last | None = None
    for entry in entries:
        if entry.kind == "test" and entry.verdict is not None:
            labels[entry.label] = entry.number
            tests[entry.number] = entry
            last = Last(entry.number, entry.label, entry.verdict, entry.of)
        elif entry.kind == "undo" and entry.of in tests:
            gone = tests[entry.of]
            labels.pop(gone.label, None)
            if gone.of is not None:
                labels[gone.label] = gone.of
            last = None
        elif entry.kind == "skip":
            skipped.add(entry.label)
    insertion = (newest.insertion or 0) if newest else 0
    due = newest.reference_due if newest else None
    sweep = Sweep(
        plan,
        labels,
        plan.labels.first,
        frozenset(skipped),
        last=last,
        insertion=insertion,
        reference_due=insertion + (plan.reference_every or 0) if due is None else due,
    )
    return replace(sweep, next_number=free(sweep, plan.labels.first))


def plan_for_sweep(plan: LotPlan, sides: tuple[tuple[int, ...], ...]) -> Plan:
    """Return what the sweep must know of a lot's plan."""
    return Plan(
        Labels(plan.prefix, plan.digits, plan.first, plan.scanned),
        plan.count or None,
        sides,
        plan.reference_every or None,
    )
