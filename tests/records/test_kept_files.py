"""Files that the program keeps itself, where something else lies in their place: pipes, devices, folders, giants."""

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.records.samples import lot, published_key
from wiremap.errors import FileError
from wiremap.phone.doors import Doors
from wiremap.phone.tls import certificate
from wiremap.reading.parts import Tester
from wiremap.records.calibrations import calibration_of, calibration_path
from wiremap.records.captures.work_list import work_list
from wiremap.records.handset_file import handset_path, read_handset
from wiremap.records.home import home
from wiremap.records.keys import choose_key, known_keys
from wiremap.records.languages import language_of, language_path
from wiremap.records.lots.ends import close
from wiremap.records.lots.held import held
from wiremap.records.lots.ledger import newest_of_tester, open_ledger, read_ledger, rebuild
from wiremap.records.lots.plan import LotPlan, keep_plan, settled_plan
from wiremap.records.lots.statistics import summarise
from wiremap.records.mend_file import mend_path, read_mend
from wiremap.records.own_kinds import own_kind, own_kind_path

TESTER = Tester("WIREMAP", "BENCH-18", "0007", "1.0", ("RES",), 0.5)
SPARSE_BYTES = 60_000_000_000


def _rack() -> Path:
    return home() / "lots" / "rack"


def _begun() -> None:
    with open_ledger(_rack()):
        pass


READ: dict[str, tuple[Callable[[], Path], Callable[[], Any]]] = {
    "a repair": (lambda: mend_path("helm"), lambda: read_mend(mend_path("helm"))),
    "tests in the hand": (lambda: handset_path(8000), lambda: read_handset(handset_path(8000))),
    "a calibration": (lambda: calibration_path(TESTER), lambda: calibration_of(TESTER)),
    "a language": (lambda: language_path("0007"), lambda: language_of("0007")),
    "a kind": (lambda: own_kind_path("my-own"), lambda: own_kind("my-own")),
    "a work list": (lambda: home() / "work_list.toml", work_list),
    "the own key": (lambda: home() / "keys" / "signing.pem", lambda: choose_key(None)),
    "a known key": (lambda: home() / "keys" / "known" / "me.pem", known_keys),
    "a ledger, read": (lambda: _rack() / "ledger.jsonl", lambda: read_ledger(_rack() / "ledger.jsonl")),
    "a ledger, counted": (lambda: _rack() / "ledger.jsonl", lambda: summarise(_rack() / "ledger.jsonl", "rack")),
    "a ledger, looked into": (lambda: _rack() / "ledger.jsonl", lambda: newest_of_tester(home() / "lots", "0007")),
    "a ledger, added to": (lambda: _rack() / "ledger.jsonl", _begun),
    "a ledger, made again": (lambda: _rack() / "ledger.jsonl", lambda: rebuild(_rack())),
    "a lot's lock": (lambda: _rack() / ".lock", _begun),
    "a lot's capture": (lambda: _rack() / "captures" / "00001-rack-01.json", lambda: rebuild(_rack())),
    "a lot's end": (lambda: _rack() / "end-1.jsonl", lambda: held(_rack())),
    "a lot's plan": (lambda: _rack() / "lot.toml", lambda: settled_plan(_rack(), None)),
    "who may come in": (lambda: home() / "doors.json", lambda: Doors(home() / "doors.json", 1, False, float)),
    "a certificate": (lambda: home() / "certificate.pem", lambda: certificate(home(), ("127.0.0.1",))),
}
ODD = ("pipe", "folder", "loop", "/dev/zero", "giant", "zeros")


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a user's folder with a sound lot in it that was closed."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    captures = _rack() / "captures"
    captures.mkdir(parents=True)
    for number, made in enumerate(lot(2, published_key()), 1):
        (captures / f"{number:05}-rack-{number:02}.json").write_bytes(made)
    rebuild(_rack())
    keep_plan(_rack(), LotPlan(count=2))
    close(_rack(), read_ledger(_rack() / "ledger.jsonl"), published_key(), "2026-03-01T10:00:00Z", "wiremap 0.1.0")
    return tmp_path


def put(what: str, path: Path) -> None:
    """Put something odd in the place of a file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.unlink(missing_ok=True)
    match what:
        case "pipe":
            os.mkfifo(path)
        case "folder":
            path.mkdir()
        case "loop":
            path.symlink_to(path.name)
        case "/dev/zero":
            path.symlink_to(what)
        case "giant":
            with path.open("wb") as file:
                file.truncate(SPARSE_BYTES)
        case _:
            path.write_bytes(bytes(100))


@pytest.mark.parametrize("what", READ)
def test_what_lies_in_the_place_of_a_kept_file_is_said_at_once(what: str, kept: Path) -> None:
    """Whatever lies there, it is never waited for, read without end or taken for nothing: FileError names it.

    A lock holds whatever is in its file. Of all lots together, one that cannot be read says so itself.
    """
    place, read = READ[what]
    sound = shutil.copytree(kept / "home", kept / "sound")
    for odd in ODD:
        shutil.rmtree(kept / "home")
        shutil.copytree(sound, kept / "home")
        put(odd, place())
        error = refusal(read)
        quiet = what in ("a lot's lock", "a ledger, looked into")
        if error is None:
            assert quiet or ("ledger" in what and odd == "zeros"), odd  # half a line, which nobody was shown
        else:
            assert error.hint
            assert place().name in error.what, (odd, error.what)


def refusal(read: Callable[[], Any]) -> FileError | None:
    """Return the error that comes of reading, None where none does."""
    try:
        read()
    except FileError as error:
        return error
    return None
