import errno
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from tests.bench.lots import STRAIGHT
from tests.bench.world import Cable
from wiremap.bench.lot_book import LotBook
from wiremap.bench.sweep_events import KeepRecord, Outcome
from wiremap.errors import FileError
from wiremap.judge.case import JobNames, judge_case
from wiremap.records.canonical import decode
from wiremap.records.captures.files import load
from wiremap.records.lots.ledger import LEDGER, Ledger, newest_of_tester, open_ledger, read_ledger, rebuild
from wiremap.records.lots.ledger_entry import FORMAT, Entry, LedgerFault, entry_of, line_digest, line_of
from wiremap.records.lots.plan import LotPlan
from wiremap.records.lots.rebuild import CAPTURES, capture_name, conductor_ohm, lot_captures
from wiremap.report.proof import Proof
from wiremap.report.words.records import follows_phrase


def test_an_entry_comes_back_as_it_was_written() -> None:
    """Every field of a line comes back, and its bytes are canonical JSON (RFC 8785) in one line."""
    faults = (LedgerFault("open", ("3",), ("3",), "far"), LedgerFault("short", ("1", "2")))
    entry = Entry(
        FORMAT,
        "test",
        7,
        "2026-03-01T08:00:00Z",
        "RACK-003",
        "sha256:" + "0" * 64,
        3,
        "fail",
        faults,
        "sha256:" + "1" * 64,
        "00007-RACK-003.json",
        "A1",
        12,
        112,
        0.21,
        2.05,
        "crimped again",
    )
    line = line_of(entry)
    assert entry_of(line[:-1], "ledger") == entry
    assert line.count(b"\n") == 1
    assert decode(line[:-1], "ledger")["label"] == "RACK-003"


@pytest.mark.parametrize(
    "line",
    [b"", b"{}", b"[]", b"\xff", b'{"format":1,"kind":"guess","number":1,"made_utc":""}', b"[" * 5000],
)
def test_a_line_that_is_none_is_refused(line: bytes) -> None:
    """What is no ledger line is refused with its place and a hint, never a crash."""
    with pytest.raises(FileError, match="ledger: line 3") as raised:
        entry_of(line, "ledger: line 3")
    assert "--rebuild" in raised.value.hint


def test_a_newer_format_is_refused() -> None:
    """A line of a format this version does not know is refused by number."""
    line = line_of(Entry(FORMAT, "test", 1, "")).replace(b'"format":1', b'"format":2')
    with pytest.raises(FileError, match="format is 2"):
        entry_of(line[:-1], "ledger")


class Shop:
    """A lot on disk that tests can be kept in."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def keep(
        self, ledger: Ledger, label: str, fault: str = "none", of: int | None = None, reference: bool = False
    ) -> int:
        """Keep one test, as a sweep does."""
        reading = Cable(len(ledger.entries), fault).reading(60 * len(ledger.entries))
        case = judge_case(reading, STRAIGHT, JobNames())
        book = LotBook(ledger, "rack", LotPlan(), None)
        outcome = Outcome(case.diagnosis.verdict, frozenset(), case)
        return book.record(KeepRecord(outcome, label, of, reference, len(ledger.entries) + 1, 100))

    def fill(self) -> list[Entry]:
        """Keep a few tests, one of them a retest, and return the entries."""
        with open_ledger(self.folder) as ledger:
            self.keep(ledger, "RACK-001")
            self.keep(ledger, "RACK-002", "open-middle")
            self.keep(ledger, "RACK-002", of=2)
            self.keep(ledger, "", reference=True)
            self.keep(ledger, "RACK-003", "exchanged")
            return list(ledger.entries)


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """Give a lot in a folder of its own."""
    return Shop(tmp_path / "rack")


def test_lines_are_chained(shop: Shop) -> None:
    """Each line names the digest of the line before, and its own number."""
    entries = shop.fill()
    lines = (shop.folder / LEDGER).read_bytes().splitlines(keepends=True)
    assert [entry.number for entry in entries] == [1, 2, 3, 4, 5]
    assert entries[0].before is None
    assert [entry.before for entry in entries[1:]] == [line_digest(line) for line in lines[:-1]]
    assert read_ledger(shop.folder / LEDGER) == entries
    assert entries[1].faults == (LedgerFault("open", ("4",), ("4",)),)
    assert [entry.kind for entry in entries] == ["test", "test", "test", "reference", "test"]


@pytest.mark.parametrize("change", ["byte", "gone", "swapped", "twice"])
def test_a_changed_ledger_is_refused(shop: Shop, change: str) -> None:
    """A line that was changed, taken out, moved or doubled breaks the chain, and the error names the line."""
    shop.fill()
    path = shop.folder / LEDGER
    lines = path.read_bytes().splitlines(keepends=True)
    if change == "byte":
        lines[1] = lines[1].replace(b'"verdict":"fail"', b'"verdict":"pass"')
    elif change == "gone":
        del lines[1]
    elif change == "swapped":
        lines[1], lines[2] = lines[2], lines[1]
    else:
        lines.insert(2, lines[1])
    path.write_bytes(b"".join(lines))
    with pytest.raises(FileError, match=r"line [23]: does not follow the line before it"), open_ledger(shop.folder):
        pass
    with pytest.raises(FileError, match="does not follow"):
        read_ledger(path)


def test_half_a_line_is_cut_off(shop: Shop) -> None:
    """A line that a power cut left half written was never shown: it is cut off, and its capture entered as unshown."""
    before = shop.fill()
    path = shop.folder / LEDGER
    content = path.read_bytes()
    path.write_bytes(content[:-30])
    with open_ledger(shop.folder) as ledger:
        assert ledger.entries[:-1] == before[:-1]
        assert ledger.entries[-1].kind == "unshown"
        assert ledger.entries[-1].label == "RACK-003"
        assert ledger.entries[-1].capture == before[-1].capture


def test_a_capture_that_never_came_into_the_ledger_is_entered_as_unshown(shop: Shop) -> None:
    """A test that was kept just before the program died is entered, and its label stays free."""
    shop.fill()
    path = shop.folder / LEDGER
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:-1]))
    with open_ledger(shop.folder) as ledger:
        assert [entry.kind for entry in ledger.entries][-1] == "unshown"
        assert ledger.capture_count == 5
        assert shop.keep(ledger, "RACK-003") == 6
    names = [path.name for _, path in lot_captures(shop.folder / "captures")]
    assert names[-1] == "00006-RACK-003.json"


def test_a_lost_ledger_is_made_again_from_the_captures(shop: Shop) -> None:
    """Rebuilt from the captures, a ledger says the same of every test, retests linked; the old one is set aside."""
    before = shop.fill()
    assert rebuild(shop.folder) == 5
    after = read_ledger(shop.folder / LEDGER)
    lost = {"insertion": None, "reference_due": None, "before": None}
    assert [msgspec.structs.replace(entry, **lost) for entry in after] == [
        msgspec.structs.replace(entry, **lost) for entry in before
    ]
    assert (shop.folder / "ledger-set-aside-1.jsonl").exists()


def test_a_changed_capture_stops_the_rebuilding(shop: Shop) -> None:
    """A ledger is never made from a capture that was changed."""
    shop.fill()
    path = lot_captures(shop.folder / "captures")[0][1]
    path.write_bytes(path.read_bytes().replace(b'"RACK-001"', b'"RACK-009"'))
    (shop.folder / LEDGER).unlink()
    with pytest.raises(FileError, match="changed after it was written"), open_ledger(shop.folder):
        pass


def test_captures_follow_one_another(shop: Shop) -> None:
    """The captures of a lot are numbered and chained, as `wiremap verify` wants them."""
    from wiremap.records.captures.capture import read_capture

    shop.fill()
    captures = [read_capture(path.read_bytes(), path.name) for _, path in lot_captures(shop.folder / "captures")]
    assert [capture.record.lot.number for capture in captures if capture.record.lot] == [1, 2, 3, 4, 5]
    assert [capture.record.before for capture in captures] == [None, *(capture.digest for capture in captures[:-1])]


def test_two_programs_never_work_on_one_lot(shop: Shop) -> None:
    """A second program that opens the lot is told so."""
    with open_ledger(shop.folder):
        code = "import sys, pathlib; from wiremap.records.lots.ledger import open_ledger\n"
        code += "with open_ledger(pathlib.Path(sys.argv[1])): pass"
        other = subprocess.run(
            [sys.executable, "-c", code, str(shop.folder)], capture_output=True, text=True, check=False
        )
    assert "another wiremap works on this lot" in other.stderr


@pytest.mark.parametrize("written", [0, 20])
def test_a_full_disk_leaves_the_ledger_whole(shop: Shop, monkeypatch: pytest.MonkeyPatch, written: int) -> None:
    """When a line cannot be written, or only half of it, the ledger is as it was before, and the error says so."""
    shop.fill()
    content = (shop.folder / LEDGER).read_bytes()
    real = os.write

    def full(handle: int, line: bytes) -> int:
        if written:
            return real(handle, line[:written])
        raise OSError(errno.ENOSPC, "No space left on device")

    with open_ledger(shop.folder) as ledger:
        monkeypatch.setattr("wiremap.records.lots.ledger.os.write", full)
        with pytest.raises(FileError, match="cannot be written") as raised:
            ledger.append(Entry(FORMAT, "note", 0, "2026-03-01T08:00:00Z", of=1, text="x"))
        monkeypatch.undo()
        assert "Make room" in raised.value.hint
        assert (shop.folder / LEDGER).read_bytes() == content
        assert ledger.append(Entry(FORMAT, "note", 0, "2026-03-01T08:00:00Z", of=1, text="x")).number == 6


def test_a_retest_names_the_test_before_it_in_its_record(shop: Shop) -> None:
    """The record of a cable tested again names the capture before, and what is printed of it says so."""
    entries = shop.fill()
    kept = [load(shop.folder / CAPTURES / str(entry.file)) for entry in entries]
    assert [one.record.follows for one in kept if one.record] == [None, None, entries[1].capture, None, None]
    for one in kept:
        assert one.capture is not None
        said = dict(Proof(judge_case(one.reading, STRAIGHT, JobNames()), one.capture).facts())
        again = said.get("Tested again", "")
        assert again == follows_phrase(one.capture.record.follows)
        assert bool(again) == (one.capture.record.follows is not None)
        assert str(one.capture.record.follows)[:15] in again or not again


def test_a_ledger_line_that_does_not_fit_leaves_the_label_free(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the disk has room for a capture and none for its line, the cable can be tested again under its label."""
    shop.fill()
    with open_ledger(shop.folder) as ledger:
        before = sorted((shop.folder / CAPTURES).iterdir())
        with monkeypatch.context() as patch:
            patch.setattr("wiremap.records.lots.ledger.os.write", lambda *_: 3)
            with pytest.raises(FileError, match="3 of"):
                shop.keep(ledger, "RACK-004")
        assert sorted((shop.folder / CAPTURES).iterdir()) == before
        assert shop.keep(ledger, "RACK-004") == 6
    assert [entry.kind for entry in read_ledger(shop.folder / LEDGER)][-1] == "test"


def test_a_ledger_is_not_made_again_under_a_lot_that_runs(shop: Shop) -> None:
    """While a lot is open its ledger is not made again, and tests go on into the ledger that everybody reads."""
    shop.fill()
    with open_ledger(shop.folder) as ledger:
        with pytest.raises(FileError, match="another wiremap works on this lot"):
            rebuild(shop.folder)
        shop.keep(ledger, "RACK-004")
    assert [entry.label for entry in read_ledger(shop.folder / LEDGER)][-1] == "RACK-004"
    assert rebuild(shop.folder) == 6
    assert len(list(shop.folder.glob("ledger-set-aside-*"))) == 1


def test_a_ledger_that_cannot_be_made_again_stays(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped at any step, by a full disk or a capture that is none, making a ledger again leaves the old one whole."""
    shop.fill()
    path = shop.folder / LEDGER
    whole = path.read_bytes()
    for step in ("write_new_file", "write_over"):
        with monkeypatch.context() as patch:
            patch.setattr(f"wiremap.records.lots.ledger.{step}", _stopped)
            with pytest.raises(FileError, match="stopped"):
                rebuild(shop.folder)
        assert path.read_bytes() == whole
    spoilt = sorted((shop.folder / CAPTURES).iterdir())[2]
    spoilt.write_bytes(b"junk")
    with pytest.raises(FileError, match=spoilt.name):
        rebuild(shop.folder)
    assert path.read_bytes() == whole


def _stopped(*_: object) -> None:
    raise FileError("stopped", "Go on.")


def test_what_a_killed_writer_left_is_taken_away(shop: Shop) -> None:
    """Half-written files of a program that was killed go when the lot is opened; anything else stays."""
    shop.fill()
    left = [shop.folder / f".{'0a' * 8}.part", shop.folder / CAPTURES / f".{'1b' * 8}.part"]
    kept = [shop.folder / "my.part", shop.folder / CAPTURES / ".mine.part"]
    for path in (*left, *kept):
        path.write_bytes(b"half")
    with open_ledger(shop.folder):
        pass
    assert [path.exists() for path in (*left, *kept)] == [False, False, True, True]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """Mount a disk of 256 kB."""
    place = tmp_path / "disk"
    place.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(place)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("may not mount a small disk here")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def test_a_disk_that_fills_up_loses_nothing(small_disk: Path) -> None:
    """On a disk that fills up, the first test that does not fit is an error, and all those before it are whole."""
    shop = Shop(small_disk / "rack")
    kept = 0
    error = None
    with open_ledger(shop.folder) as ledger:
        while error is None:
            try:
                shop.keep(ledger, f"RACK-{kept:03d}")
                kept += 1
            except FileError as full:
                error = full
    assert "cannot be written" in error.what
    assert 5 < kept < 100
    entries = [entry for entry in read_ledger(shop.folder / LEDGER) if entry.kind == "test"]
    assert len(entries) == kept


def test_a_lot_is_not_begun_without_room(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """With less room than a test needs, the sweep is stopped before the test."""
    with open_ledger(shop.folder) as ledger:
        book = LotBook(ledger, "rack", LotPlan(), None)
        book.check_room()
        monkeypatch.setattr("wiremap.bench.lot_book.LEAST_ROOM_BYTES", 1 << 60)
        with pytest.raises(FileError, match="bytes are free"):
            book.check_room()


def test_insertions_are_counted_over_all_lots(shop: Shop) -> None:
    """A tester's insertions go on from the highest count in any lot, so that wear belongs to the tester."""
    shop.fill()
    newest = newest_of_tester(shop.folder.parent, "W1")
    assert newest is not None
    assert (newest.insertion, newest.reference_due) == (5, 100)
    assert newest_of_tester(shop.folder.parent, "another") is None


def test_capture_names_hold_number_and_label() -> None:
    """A capture's file name begins with its number and holds no letter that a file name may not hold."""
    assert capture_name(7, "RACK-003") == "00007-RACK-003.json"
    assert capture_name(7, "../mast: 1") == "00007----mast--1.json"
    assert capture_name(123456, "") == "123456.json"


def test_the_resistance_of_a_cable_is_that_of_its_middle_conductor() -> None:
    """One bad contact does not move it, and a cable that joins nothing has none."""
    assert conductor_ohm(Cable(5, "open-middle").reading(0)) == pytest.approx(1.005)
    assert conductor_ohm(Cable(5, "none").reading(0)) == pytest.approx(1.005)
