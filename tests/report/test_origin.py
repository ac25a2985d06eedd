"""Where a reading comes from is seen at once, wherever it is shown."""

import json
from pathlib import Path
from typing import get_args

import pytest
from msgspec.structs import replace

from tests.cli.running import run
from tests.report.print.goldens import pdf_text
from tests.report.proofs import case, proof
from wiremap.reading.reading import Origin, from_builtins, to_builtins
from wiremap.records.captures.capture import read_capture, to_bytes
from wiremap.records.captures.check import check
from wiremap.records.lots.ledger_entry import FORMAT, Entry
from wiremap.records.lots.rebuild import entry_of_test
from wiremap.records.lots.statistics import summarise_entries
from wiremap.report.print.label import label
from wiremap.report.print.lot_picture import lot_picture
from wiremap.report.print.phone_page import phone
from wiremap.report.print.picture import picture
from wiremap.report.print.sheet import sheet
from wiremap.report.print.watch_picture import watch_picture
from wiremap.report.proof import Proof
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import line, page
from wiremap.report.words.lots import in_one_line
from wiremap.report.words.origin import FLAGS, ORIGINS
from wiremap.report.words.records import verified

FLAGGED: tuple[Origin, ...] = ("simulator", "table", "eyes")


@pytest.mark.parametrize("origin", FLAGGED)
@pytest.mark.parametrize(("width", "height"), [(80, 24), (40, 16)])
def test_what_no_tester_measured_says_so_in_the_first_line(origin: Origin, width: int, height: int) -> None:
    """The first lines of a page, beside the verdict, say that nothing was measured, in a small window too."""
    shown = page(case(origin=origin), Terminal(width, height))
    assert FLAGS[origin] in " ".join(shown.splitlines()[:2])
    assert FLAGS[origin] in line(case(origin=origin), "x.json")


@pytest.mark.parametrize("origin", get_args(Origin))
def test_every_page_says_where_its_reading_comes_from(origin: Origin) -> None:
    """A page as long as it likes, a sheet and a phone page say it in a sentence."""
    assert ORIGINS[origin] in " ".join(page(case(origin=origin), Terminal(200, None)).split())
    assert ORIGINS[origin] in phone(proof(origin=origin)).decode()
    assert ORIGINS[origin][:20] in " ".join(pdf_text(sheet(proof(origin=origin))).split())


@pytest.mark.parametrize("origin", FLAGGED)
def test_nothing_printed_looks_like_a_measurement(origin: Origin) -> None:
    """Sheet, label, picture and phone page of what no tester measured carry its flag."""
    shown = proof(origin=origin)
    assert FLAGS[origin] in " ".join(pdf_text(sheet(shown)).split())
    assert FLAGS[origin] in pdf_text(label(shown))
    assert "PASS" not in pdf_text(label(shown))
    assert FLAGS[origin] in pdf_text(picture(shown.case, "pdf"))
    assert FLAGS[origin] in phone(shown).decode()


@pytest.mark.parametrize("origin", get_args(Origin))
def test_pictures_of_lots_and_watches_say_where_their_readings_come_from(origin: Origin) -> None:
    """A lot in one line, its picture, and that of a watch carry the flag of what no tester measured, and no other."""
    entries = [Entry(FORMAT, "test", 1, "2026-03-01T08:00:00Z", "R-1", verdict="pass", origin=origin)]
    lot = summarise_entries(entries, "rack")
    watch = watch_picture((), (), 9, "pdf", origin)
    for said in (in_one_line(lot), pdf_text(lot_picture(lot, "pdf")), pdf_text(watch)):
        assert {flag for flag in FLAGS.values() if flag in said} == {"", FLAGS[origin]}


@pytest.mark.parametrize(
    ("echo", "title"), [(False, "Length if dry (95 % interval)"), (True, "Length (95 % interval)")]
)
def test_a_length_on_paper_is_said_to_be_of_a_dry_cable_where_no_echo_came(echo: bool, title: str) -> None:
    """As on the page: a flooded part makes a run look longer, and only an echo from its end tells."""
    plain = json.loads(proof().capture.line)
    if echo:
        plain["diagnosis"]["lengths"].append({"method": "echo", "length_m": 18.4, "low_m": 17.9, "high_m": 18.9})
    shown = Proof(proof().case, read_capture(to_bytes(plain), "x"))
    assert shown.lengths_title == title
    assert title in phone(shown).decode()
    assert title.upper() in pdf_text(sheet(shown))


def test_only_what_a_tester_measured_has_no_flag() -> None:
    """What a tester measured, and old captures that do not say, carry no flag."""
    assert {origin for origin in get_args(Origin) if not FLAGS[origin]} == {"tester", "unknown"}


@pytest.mark.parametrize("origin", get_args(Origin))
def test_origin_is_kept(origin: Origin) -> None:
    """A reading's origin comes back from its plain values, and stands in the lot's ledger."""
    found = replace(case().reading, origin=origin)
    assert from_builtins(to_builtins(found)) == found
    said = {"verdict": "pass", "findings": []}
    assert entry_of_test("test", "2026-03-01T08:30:00Z", "a", said, found, "", "").origin == origin


def test_an_old_reading_has_no_origin() -> None:
    """A capture from before origins were kept is read, and its origin is not known."""
    old = Path(__file__).parents[1] / "golden" / "capture-1.json"
    assert read_capture(old.read_bytes(), "old").reading.origin == "unknown"


def test_a_simulated_capture_is_no_proof(tmp_path: Path) -> None:
    """The command says so on the page, in JSON and when the capture is verified; its bytes are sound all the same."""
    kept = tmp_path / "kept.json"
    shown = run("test", "--tester", "sim:patch", "--expect", "straight", "--save", str(kept))
    assert "SIMULATED" in shown.out.splitlines()[0]
    found = check(kept.read_bytes(), "kept", {})
    problems, notes = verified(found, "single", False)
    assert problems == ()
    assert "SIMULATED, NO PROOF" in notes
    answer = run("verify", str(kept), "--json")
    assert json.loads(answer.out)["origin"] == "simulator"
    assert json.loads(run("judge", str(kept), "--json").out)["origin"] == "simulator"


def test_a_table_is_no_measurement(tmp_path: Path) -> None:
    """A table that somebody typed is judged, and says that it is one."""
    table = tmp_path / "hand.csv"
    table.write_text("1,0,0,0\n0,1,0,0\n0,0,1,0\n0,0,0,1\n")
    shown = run("judge", str(table), "--expect", "m12d-m12d", "--cells", "continuity")
    assert "FROM A TABLE" in shown.out.splitlines()[0]
