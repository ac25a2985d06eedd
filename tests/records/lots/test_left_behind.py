"""What a program that was killed, or a disk that failed twice, leaves of a lot: put right, said, no label spoilt."""

import errno
import os
from pathlib import Path

import pytest

from tests.records.lots.test_ledger import Shop
from wiremap.bench.lot_book import LotBook
from wiremap.bench.sweep_events import KeepRecord
from wiremap.errors import FileError
from wiremap.records.lots.held import held
from wiremap.records.lots.ledger import LEDGER, LeftBehind, open_ledger, read_ledger
from wiremap.records.lots.plan import LotPlan
from wiremap.records.lots.rebuild import CAPTURES
from wiremap.report.words.lots import found_said


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """Give a lot in a folder of its own."""
    return Shop(tmp_path / "rack")


def test_what_was_found_is_said(shop: Shop) -> None:
    """Half a line, a test that nobody saw and half-written files: each is put right once and said once."""
    shop.fill()
    path = shop.folder / LEDGER
    whole = path.read_bytes()
    last = whole.splitlines(keepends=True)[-1]
    path.write_bytes(whole[:-30])
    (shop.folder / f".{'0a' * 8}.part").write_bytes(b"half")
    with open_ledger(shop.folder) as ledger:
        assert ledger.found == LeftBehind(parts=1, cut_bytes=len(last) - 30, unshown=("RACK-003",))
        said = found_said(ledger.found)
    assert "1 test whose verdict nobody saw (RACK-003): kept as such, and the label is free again" in said
    assert f"half a line of {len(last) - 30} bytes" in said
    assert "1 half-written file, taken away" in said
    with open_ledger(shop.folder) as ledger:
        assert ledger.found == LeftBehind()
        assert found_said(ledger.found) == ""


def test_the_first_test_of_a_lot_that_nobody_saw_is_unshown(shop: Shop) -> None:
    """Killed between its first capture and the ledger's first line, a lot has one test that nobody saw."""
    with open_ledger(shop.folder) as ledger:
        shop.keep(ledger, "RACK-001")
    (shop.folder / LEDGER).write_bytes(b"")
    with open_ledger(shop.folder) as ledger:
        assert [entry.kind for entry in ledger.entries] == ["unshown"]
        assert ledger.found.unshown == ("RACK-001",)


@pytest.mark.parametrize("left", [None, b""])
def test_a_ledger_that_is_gone_is_made_again_at_once_or_not_at_all(
    shop: Shop, monkeypatch: pytest.MonkeyPatch, left: bytes | None
) -> None:
    """Without its ledger a lot's captures are entered as what they were, in one step: stopped there, none is.

    Entered one by one, those that were left when the program was killed would have counted as seen by nobody.
    """
    shop.fill()
    path = shop.folder / LEDGER
    before = [(entry.kind, entry.label, entry.capture) for entry in read_ledger(path)]
    path.unlink()
    if left is not None:
        path.write_bytes(left)
    with monkeypatch.context() as patch:
        patch.setattr("wiremap.records.lots.ledger.write_over", _refused)
        with pytest.raises(FileError, match="stopped"), open_ledger(shop.folder):
            pass
    with open_ledger(shop.folder) as ledger:
        assert [(entry.kind, entry.label, entry.capture) for entry in ledger.entries] == before
        assert found_said(ledger.found) == (
            f"This lot was stopped in the middle. Found: the ledger was gone: {len(before)} captures entered again."
        )


def test_half_a_line_that_could_not_be_cut_off_is_before_the_next(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that takes half a line and then refuses to have it cut off: the next line does not follow that half."""
    shop.fill()
    with open_ledger(shop.folder) as ledger:
        whole = (shop.folder / LEDGER).read_bytes()
        write = os.write
        with monkeypatch.context() as patch:
            patch.setattr(
                "wiremap.records.lots.ledger.os.write", lambda handle, line: write(handle, line[: len(line) // 2])
            )
            patch.setattr("wiremap.records.lots.ledger.os.ftruncate", _input_output)
            with pytest.raises(FileError, match="cannot be written"):
                shop.keep(ledger, "RACK-004")
            assert len((shop.folder / LEDGER).read_bytes()) > len(whole)
            with pytest.raises(FileError, match="cannot be written"):
                shop.keep(ledger, "RACK-004")
        assert shop.keep(ledger, "RACK-004") == 6
    assert read_ledger(shop.folder / LEDGER)[-1].label == "RACK-004"
    assert not held(shop.folder, {}).differences


def test_a_capture_that_could_not_be_taken_away_spoils_no_label(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """A capture whose line failed and that could not be taken away goes before the next test, of whatever label."""
    shop.fill()
    wanted = _next_test(shop)
    with open_ledger(shop.folder) as ledger:
        book = LotBook(ledger, "rack", LotPlan(), None)
        unlink = Path.unlink
        with monkeypatch.context() as patch:
            patch.setattr("wiremap.records.lots.ledger.os.write", lambda *_: 3)

            def kept(path: Path, missing_ok: bool = False) -> None:
                if path.suffix == ".json":
                    _input_output()
                unlink(path, missing_ok)

            patch.setattr(Path, "unlink", kept)
            for _ in range(2):
                with pytest.raises(FileError, match=r"bytes written|cannot be written"):
                    book.record(wanted)
        assert len(list((shop.folder / CAPTURES).iterdir())) == 6
        assert book.record(wanted) == 6
    assert len(list((shop.folder / CAPTURES).iterdir())) == 6
    assert not held(shop.folder, {}).differences


def _next_test(shop: Shop) -> KeepRecord:
    caught: list[KeepRecord] = []

    class Book(LotBook):
        def record(self, wanted: KeepRecord) -> int:
            caught.append(wanted)
            return 0

    with pytest.MonkeyPatch.context() as patch, open_ledger(shop.folder) as ledger:
        patch.setattr("tests.records.lots.test_ledger.LotBook", Book)
        shop.keep(ledger, "RACK-004")
    return caught[0]


def _refused(*_: object) -> None:
    raise FileError("stopped", "Go on.")


def _input_output(*_: object) -> None:
    raise OSError(errno.EIO, os.strerror(errno.EIO))
