"""A lot's ledger: one line per test, only ever added to, on the disk before anything is shown.

Each line names the digest of the line before, so a line that is changed or taken out shows. What a crash leaves
behind is put right when the ledger is opened: half a line at the end is cut off, and a capture that never came
into the ledger is entered as "unshown", since nobody saw its verdict.
"""

import os
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

import msgspec

from wiremap.errors import FileError
from wiremap.files import is_there, open_regular, opened, read_at_most, read_if_there
from wiremap.records.lots.ledger_entry import FORMAT, HINT, LARGEST_LEDGER_BYTES, Entry, entry_of, line_digest, line_of
from wiremap.records.lots.rebuild import CAPTURES, entry_and_follows, lot_captures
from wiremap.records.new_file import keep_folder, make_folder, take_away_parts, write_new_file, write_over

LEDGER = "ledger.jsonl"
LOCK = ".lock"
MAY_WRITE = "Check that you may write there, and that there is room."
NEWEST_BYTES = 65_536


class LeftBehind(msgspec.Struct, frozen=True):
    """What a program that was killed left of a lot, and what was done with it when the lot was opened.

    parts: half-written files that were taken away. cut_bytes: of half a line at the ledger's end that was cut off.
    unshown: labels of the tests whose verdict nobody saw, entered as such. again: captures that were entered again,
    since there was no ledger any more.
    """

    parts: int = 0
    cut_bytes: int = 0
    unshown: tuple[str, ...] = ()
    again: int = 0


class Ledger:
    """An open ledger; `entries` are its lines, in order; `found`, what was put right when it was opened."""

    def __init__(self, folder: Path, handle: int, entries: list[Entry], last_line: bytes | None, size: int) -> None:
        self.folder = folder
        self.entries = entries
        self.found = LeftBehind()
        self.capture_count = sum(entry.capture is not None for entry in entries)
        self._handle = handle
        self._last_line = last_line
        self._size = size

    def append(self, entry: Entry) -> Entry:
        """Add a line and return it with its number; when this returns, it is on the disk.

        FileError when it cannot be written; the ledger is then as it was before.
        """
        entry = _following(entry, len(self.entries) + 1, self._last_line)
        line = line_of(entry)
        try:
            self._cut_back()
            written = os.write(self._handle, line)
            if written != len(line):
                raise OSError(f"{written} of {len(line)} bytes written")
            os.fsync(self._handle)
        except OSError as error:
            with suppress(OSError):  # what cannot be cut off now is before the next line
                self._cut_back()
            raise FileError(
                f"{self.folder / LEDGER}: cannot be written ({error.strerror or error})",
                "Make room on the disk and test this cable again; what was shown before is kept.",
            ) from error
        self._size += len(line)
        self._last_line = line
        self.entries.append(entry)
        self.capture_count += entry.capture is not None
        return entry

    def _cut_back(self) -> None:
        """Cut off what a line that failed left at the end; OSError where that cannot be done."""
        if os.fstat(self._handle).st_size != self._size:
            os.ftruncate(self._handle, self._size)

    @property
    def captures_folder(self) -> Path:
        """Where the lot's captures are."""
        return self.folder / CAPTURES

    @property
    def last_capture(self) -> Entry | None:
        """Return the newest entry that has a capture."""
        return next((entry for entry in reversed(self.entries) if entry.capture is not None), None)


@contextmanager
def open_ledger(folder: Path) -> Iterator[Ledger]:
    """Open a lot's ledger for adding to it, and make it when there is none; FileError when another program has it.

    What a program that was killed left beside the lot's files is taken away.
    """
    path = folder / LEDGER
    with locked(folder) as parts, ExitStack() as begun:
        again = _made_again(folder) if _is_lost(folder) else 0
        handle = begun.enter_context(_opened(path))
        content, cut_bytes = _whole(path, handle)
        lines = content.splitlines(keepends=True)
        entries = check_chain(lines, str(path))
        ledger = Ledger(folder, handle, entries, lines[-1] if lines else None, len(content))
        ledger.found = LeftBehind(parts, cut_bytes, _enter_missing(ledger), again)
        yield ledger


@contextmanager
def locked(folder: Path) -> Iterator[int]:
    """Hold a lot, its folder made when there is none, so that no other program works on it; FileError when one does.

    What writers that were killed left half written is taken away; gives how many files that were.
    """
    from filelock import FileLock, Timeout

    make_folder(folder / CAPTURES, MAY_WRITE)
    lock = FileLock(folder / LOCK, timeout=0)
    try:
        lock.acquire()
    except Timeout as error:
        raise FileError(
            f"{folder / LEDGER}: another wiremap works on this lot",
            "End it there, or give this bench a lot of its own.",
        ) from error
    except OSError as error:
        raise FileError(f"{folder / LOCK}: cannot be locked ({error.strerror})", MAY_WRITE) from error
    try:
        yield sum(map(take_away_parts, (folder, folder / CAPTURES)))
    finally:
        lock.release()


@contextmanager
def _opened(path: Path) -> Iterator[int]:
    """Open a ledger for adding to it, made when there is none."""
    try:
        is_new = not is_there(path)
        handle = open_regular(path, os.O_RDWR | os.O_CREAT | os.O_APPEND)
    except OSError as error:
        raise FileError(f"{path}: cannot be opened ({error.strerror})", MAY_WRITE) from error
    try:
        if is_new:
            keep_folder(path.parent)
        yield handle
    finally:
        os.close(handle)


def check_chain(lines: list[bytes], source: str) -> list[Entry]:
    """Return the entries in a ledger's lines (LF included); FileError names the line where the chain breaks."""
    entries = []
    before = None
    for number, line in enumerate(lines, 1):
        place = f"{source}: line {number}"
        entry = entry_of(line[:-1], place)
        if entry.number != number or entry.before != before:
            raise FileError(f"{place}: does not follow the line before it", HINT)
        entries.append(entry)
        before = line_digest(line)
    return entries


def read_ledger(path: Path) -> list[Entry]:
    """Return the entries of a ledger that is only read; half a line at its end, still being written, is left out."""
    content = read_at_most(path, LARGEST_LEDGER_BYTES, HINT)
    return check_chain(content[: content.rfind(b"\n") + 1].splitlines(keepends=True), str(path))


def newest_of_tester(lots: Path, tester: str) -> Entry | None:
    """Return the line with this tester's highest count of insertions, out of the newest lines of all lots."""
    found: Entry | None = None
    for path in sorted(lots.glob(f"*/{LEDGER}")):
        for entry in _newest_lines(path):
            if entry.tester == tester and (entry.insertion or 0) > (found.insertion or 0 if found else 0):
                found = entry
    return found


def _newest_lines(path: Path) -> list[Entry]:
    """Return the last few entries of a ledger; nothing of one that cannot be read, whose lot says so itself."""
    try:
        with opened(path) as file:
            file.seek(max(0, path.stat().st_size - NEWEST_BYTES))
            lines = file.read().split(b"\n")[1:-1]
        return [entry_of(line, str(path)) for line in lines]
    except (OSError, FileError):
        return []


def check_lot(folder: Path, has: str = LEDGER) -> None:
    """Refuse a folder that is no lot, or whose ledger is gone; has: what it must have, its ledger or its captures."""
    if is_there(folder / has):
        return
    if is_there(folder / CAPTURES):
        raise FileError(f"{folder}: its ledger is gone", HINT)
    raise FileError(f"{folder}: there is no such lot", "`wiremap lots` says which there are.")


def rebuild(folder: Path) -> int:
    """Make a lot's ledger again from its captures and return how many there are; what was there is set aside.

    Notes, undone and skipped labels and the count of insertions were in the ledger alone, and are lost. The ledger is
    the old one, whole, until it is the new one, whole; FileError, and all as before, when a program works on the lot,
    or there is none.
    """
    check_lot(folder, CAPTURES)
    with locked(folder):
        return _made_again(folder)


def _made_again(folder: Path) -> int:
    path = folder / LEDGER
    lines: list[bytes] = []
    for entry in _entries_of_captures(folder / CAPTURES):
        lines.append(line_of(_following(entry, len(lines) + 1, lines[-1] if lines else None)))
    before = read_if_there(path, LARGEST_LEDGER_BYTES, "Move it away; it is made again from the captures.")
    if before:
        number = 1
        while is_there(aside := folder / f"ledger-set-aside-{number}.jsonl"):
            number += 1
        write_new_file(aside, before)
    write_over(path, b"".join(lines))
    return len(lines)


def _is_lost(folder: Path) -> bool:
    """Whether a lot has captures and no ledger; with one and an empty ledger it was killed before its first line."""
    path, captures = folder / LEDGER, len(lot_captures(folder / CAPTURES))
    if not is_there(path):
        return captures > 0
    return captures > 1 and path.lstat().st_size == 0


def _following(entry: Entry, number: int, last_line: bytes | None) -> Entry:
    """Return an entry with its number, and the digest of the line before it, None = it is the first."""
    before = None if last_line is None else line_digest(last_line)
    return msgspec.structs.replace(entry, format=FORMAT, number=number, before=before)


def _whole(path: Path, handle: int) -> tuple[bytes, int]:
    """Return the whole lines of a ledger; half a line at the end, which nobody was shown, is cut off.

    Return how many bytes it had, too.
    """
    content = read_at_most(path, LARGEST_LEDGER_BYTES, HINT)
    end = content.rfind(b"\n") + 1
    if end != len(content):
        os.ftruncate(handle, end)
        os.fsync(handle)
    return content[:end], len(content) - end


def _enter_missing(ledger: Ledger) -> tuple[str, ...]:
    """Enter captures that are not in the ledger as unshown, and return their labels."""
    known, unshown = ledger.capture_count, []
    for number, path in lot_captures(ledger.captures_folder):
        if number > known:
            entry = msgspec.structs.replace(entry_and_follows(path)[0], kind="unshown")
            unshown.append(ledger.append(entry).label)
    return tuple(unshown)


def _entries_of_captures(folder: Path) -> Iterator[Entry]:
    """Give the entries of all captures of a lot, each with the test it repeats.

    A record names that test; before it did, a label that came before was taken to be tested again.
    """
    latest: dict[str, int] = {}
    numbers: dict[str | None, int] = {}
    for number, (_, path) in enumerate(lot_captures(folder), 1):
        entry, follows, names_it = entry_and_follows(path)
        of = numbers.get(follows) if names_it else latest.get(entry.label) if entry.kind == "test" else None
        yield msgspec.structs.replace(entry, of=of)
        latest[entry.label] = number
        numbers[entry.capture] = number
