import csv
import json
import sys
from pathlib import Path

import duckdb
import msgspec
import pytest

from tests.bench.lots import STRAIGHT
from tests.bench.world import Cable
from tests.cli.running import run
from wiremap.bench.lot_book import LotBook
from wiremap.bench.sweep_events import KeepRecord, Outcome
from wiremap.judge.case import JobNames, judge_case
from wiremap.records.captures.seal import digest
from wiremap.records.lots.ledger import LEDGER, open_ledger, read_ledger
from wiremap.records.lots.ledger_entry import FORMAT, Entry, LedgerFault, line_digest, line_of
from wiremap.records.lots.plan import LotPlan, keep_plan

FAULTS = ("none", "exchanged", "none", "short", "none")


def fill(folder: Path, faults: tuple[str, ...] = FAULTS) -> None:
    """Keep one test for each fault in a lot."""
    with open_ledger(folder) as ledger:
        book = LotBook(ledger, folder.name, LotPlan(), None)
        for number, fault in enumerate(faults):
            case = judge_case(Cable(number, fault).reading(60 * number), STRAIGHT, JobNames())
            outcome = Outcome(case.diagnosis.verdict, frozenset(), case)
            book.record(KeepRecord(outcome, f"R-{number}", None, False, number + 1, 100))


def mend(folder: Path, label: str, of: int) -> None:
    """Keep one more test of a label, which passes."""
    with open_ledger(folder) as ledger:
        case = judge_case(Cable(of, "none").reading(3600), STRAIGHT, JobNames())
        outcome = Outcome(case.diagnosis.verdict, frozenset(), case)
        LotBook(ledger, folder.name, LotPlan(), None).record(KeepRecord(outcome, label, of, False, 9, 100))


@pytest.fixture
def lots(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a bench with two lots."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path))
    fill(tmp_path / "lots" / "rack")
    fill(tmp_path / "lots" / "reel", ("none", "none"))
    return tmp_path / "lots"


def test_the_page_of_a_lot(lots: Path) -> None:
    """The page says cables, yields with their intervals, and the faults by contact."""
    assert lots.is_dir()
    ran = run("lots", "rack")
    assert ran.code == 0
    assert ran.out.startswith("rack\n5 cables, 5 tests, 0 taken back. Now: 3 pass, 2 fail.\n")
    assert "First-pass yield  60 % (3 of 5; 95 % interval 23 to 88 %)" in ran.out
    assert "Faults: reversed-pair 1, short 1." in ran.out


def test_the_labels_that_did_not_pass(lots: Path, tmp_path: Path) -> None:
    """Page, JSON and both tables say which label failed, by which fault, and whether it was mended."""
    mend(lots / "rack", "R-1", of=2)
    ran = run("lots", "rack")
    assert "Labels that did not pass: 2, mended since: 1." in ran.out
    listed = [" ".join(line.split()) for line in ran.out.splitlines() if line.startswith("  R-")]
    assert listed == ["R-3 short 1,2 fails", "R-1 reversed-pair 3,6 mended, passes now"]
    assert "First-pass yield  60 % (3 of 5" in ran.out
    assert "After repair      80 % (4 of 5" in ran.out
    failed = run("lots", "rack", "--json").objects()[0]["failed_labels"]
    assert [(label["label"], label["found"], label["now"], label["mended"]) for label in failed] == [
        ("R-3", "fail", "fail", False),
        ("R-1", "fail", "pass", True),
    ]
    assert failed[1]["faults"] == [{"fault": "reversed-pair", "near": ["3", "6"], "far": ["6", "3"], "end": None}]
    assert run("lots", "--save", str(tmp_path / "lots.csv")).code == 0
    with (tmp_path / "lots.csv").open(newline="") as file:
        assert [("R-1" in row["failed_labels"], row["lot"]) for row in csv.DictReader(file)] == [
            (True, "rack"),
            (False, "reel"),
        ]
    ran = run("lots", "--failed", "--save", str(tmp_path / "failed.csv"))
    assert [" ".join(line.split()) for line in ran.out.splitlines()[1:]] == [f"rack {line}" for line in listed]
    with (tmp_path / "failed.csv").open(newline="") as file:
        assert [tuple(row.values()) for row in csv.DictReader(file)] == [
            ("rack", "R-3", "fail", "short 1,2", "fail", "no"),
            ("rack", "R-1", "fail", "reversed-pair 3,6", "pass", "yes"),
        ]


def test_a_long_list_of_failed_labels_is_cut_on_the_page_alone(lots: Path) -> None:
    """The page of a lot shows a dozen failed labels and says how many more there are; `--failed` shows all."""
    fill(lots / "bad", ("short",) * 20)
    page, every = run("lots", "bad").out, run("lots", "bad", "--failed").out
    assert "R-11 " in page
    assert "R-12 " not in page
    assert "and 8 more: --failed" in page
    assert all(f"R-{number} " in every for number in range(20))


def test_a_ledger_cannot_draw_on_the_terminal(lots: Path, tmp_path: Path) -> None:
    """What a foreign ledger says is shown spelled out, on page and table; JSON has it as it is."""
    mean = "R\x1b[H\nPASS"
    fault = LedgerFault("open\x1b[2J", ("3\x07",), (), None)
    (lots / "evil").mkdir()
    (lots / "evil" / LEDGER).write_bytes(
        line_of(Entry(FORMAT, "test", 1, "\x1b]0;x\x07-03-01T08:00:00Z", mean, verdict="fail", faults=(fault,)))
    )
    for words in (("evil",), ("evil", "--failed"), ("evil", "--json")):
        ran = run("lots", *words)
        assert ran.code == 3
        assert "line 1 of the ledger names a test without a capture" in ran.out
        assert not set("\x1b\x07\x9b") & set(ran.out + ran.err)
        assert r"R\x1b[H\nPASS" in ran.out.replace("\\\\", "\\")
    assert run("lots", "evil", "--failed", "--save", str(tmp_path / "f.csv")).code == 3
    assert not set("\x1b\x07") & set((tmp_path / "f.csv").read_text())


@pytest.mark.parametrize("begins", ["=", "+", "-", "@", "\t", "\r", "\n"])
def test_no_cell_of_a_table_is_a_formula(lots: Path, tmp_path: Path, begins: str) -> None:
    """What a spreadsheet would work out (OWASP, CSV Injection) is a text with a ' before it, or spelled out."""
    label = f'{begins}1+cmd|" /C calc"!A0'
    (lots / "evil").mkdir()
    (lots / "evil" / LEDGER).write_bytes(
        line_of(Entry(FORMAT, "test", 1, "2026-03-01T08:00:00Z", label, verdict="fail", faults=()))
    )
    for words in ((), ("--failed",)):
        path = tmp_path / f"f{len(words)}.csv"
        assert run("lots", "evil", *words, "--save", str(path)).code == 3
        with path.open(newline="") as file:
            cells = [cell for row in csv.reader(file) for cell in row]
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n")) for cell in cells)
        assert any("cmd|" in cell for cell in cells)


def test_a_lot_says_how_many_it_is_to_have(lots: Path) -> None:
    """With a plan that gives a number, page and JSON say of how many cables."""
    keep_plan(lots / "rack", LotPlan(expect="straight", count=48))
    assert "\n5 of 48 cables, 5 tests" in run("lots", "rack").out
    assert [said["planned"] for said in run("lots", "rack", "reel", "--json").objects()[:2]] == [48, None]


def test_all_lots_together(lots: Path) -> None:
    """Without a name all lots of the bench are shown, one line each, then together."""
    assert lots.is_dir()
    ran = run("lots")
    assert ran.out.splitlines()[0].startswith("rack: 5 cables")
    assert ran.out.splitlines()[1].startswith("reel: 2 cables")
    assert "7 cables, 7 tests" in ran.out


def test_lots_as_json(lots: Path) -> None:
    """One object a lot and a last one with the summary; a lot that cannot be read is reported, and the exit is 6."""
    ran = run("lots", "rack", "reel", "none", "--json")
    assert ran.code == 6
    rack, reel, none, summary = ran.objects()
    assert (rack["lot"], rack["cables"], rack["first_pass"]["count"]) == ("rack", 5, 3)
    assert reel["final"] == {"count": 2, "total": 2, "low": pytest.approx(0.3424, abs=1e-4), "high": 1.0}
    assert none["error"]["kind"] == "file"
    assert (summary["summary"]["lots"], summary["summary"]["cables"]) == (2, 7)
    assert (lots / "rack" / LEDGER).exists()


def test_another_benchs_lot_by_its_folder(lots: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The folder of a lot, of another bench say, is as good as a name."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "elsewhere"))
    assert "7 cables" in run("lots", str(lots / "rack"), str(lots / "reel")).out


def test_files_of_a_lot(lots: Path, tmp_path: Path) -> None:
    """A lot is kept as picture, table and Parquet; the same lot gives the same picture, and nothing is written over."""
    assert lots.is_dir()
    names = ("lot.png", "lot.svg", "lot.pdf", "lot.csv", "lot.parquet")
    words = [word for name in names for word in ("--save", str(tmp_path / name))]
    assert run("lots", *words).code == 0
    magic = {"lot.png": b"\x89PNG", "lot.svg": b"<?xml", "lot.pdf": b"%PDF"}
    for name, begins in magic.items():
        assert (tmp_path / name).read_bytes().startswith(begins)
    with (tmp_path / "lot.csv").open(newline="") as file:
        table = list(csv.DictReader(file))
    assert [(row["lot"], row["cables"], row["pass"]) for row in table] == [("rack", "5", "3"), ("reel", "2", "2")]
    assert run("lots", "--save", str(tmp_path / "again.png")).code == 0
    assert (tmp_path / "again.png").read_bytes() == (tmp_path / "lot.png").read_bytes()
    before = (tmp_path / "lot.png").read_bytes()
    assert run("lots", "rack", "--save", str(tmp_path / "lot.png")).code == 6
    assert (tmp_path / "lot.png").read_bytes() == before


def test_parquet_holds_every_line(lots: Path, tmp_path: Path) -> None:
    """An engine made for it reads the Parquet: every line, its ledger, its faults by contact."""
    target = tmp_path / "all's.parquet"
    assert run("lots", "--save", str(target)).code == 0
    with duckdb.connect() as engine:
        found = engine.execute(
            "SELECT count(*), count(DISTINCT ledger), sum((verdict = 'pass')::int) FROM read_parquet(?)", [str(target)]
        ).fetchone()
        faults = engine.execute(
            "SELECT fault.fault, fault.near FROM (SELECT unnest(faults) AS fault FROM read_parquet(?)) ORDER BY 1",
            [str(target)],
        ).fetchall()
    assert found == (7, 2, 5)
    assert faults == [("reversed-pair", ["3", "6"]), ("short", ["1", "2"])]
    assert str(lots / "rack" / LEDGER)


def test_parquet_of_a_damaged_ledger(lots: Path, tmp_path: Path) -> None:
    """A ledger with a line that is none leaves no Parquet behind."""
    path = lots / "rack" / LEDGER
    path.write_bytes(b"junk\n" + path.read_bytes())
    target = tmp_path / "all.parquet"
    ran = run("lots", "reel", str(lots / "rack"), "--save", str(target))
    assert ran.code == 6
    assert not target.exists()


def test_a_file_of_no_kind_known(lots: Path, tmp_path: Path) -> None:
    """A file whose ending says nothing is a usage error before anything is read."""
    assert lots.is_dir()
    ran = run("lots", "--save", str(tmp_path / "lot.xls"))
    assert ran.code == 2
    assert ".parquet" in ran.err


def test_a_bench_without_lots(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A bench that has no lot is told how to begin one."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path))
    ran = run("lots")
    assert ran.code == 2
    assert "wiremap batch LOT" in ran.err


def test_a_ledger_is_made_again(lots: Path) -> None:
    """A ledger that was lost, or spoilt, is made again from the captures when asked for."""
    path = lots / "rack" / LEDGER
    path.write_bytes(path.read_bytes()[100:])
    assert run("lots", "rack").code == 6
    ran = run("lots", "rack", "--rebuild", "--json")
    assert ran.code == 0
    assert "5 captures entered again" in ran.err
    assert json.loads(ran.out.splitlines()[0])["cables"] == 5


def test_a_lot_that_is_none_is_not_made_by_making_its_ledger_again(lots: Path, tmp_path: Path) -> None:
    """A name that was mistyped, or a folder that is no lot, is refused, and nothing is made there."""
    for name in ("rakc", str(tmp_path)):
        before = sorted(tmp_path.rglob("*"))
        ran = run("lots", name, "--rebuild")
        assert (ran.code, ran.out) == (6, "")
        assert "there is no such lot" in ran.err
        assert sorted(tmp_path.rglob("*")) == before
    assert lots.is_dir()


def test_a_lot_that_is_none_and_one_without_its_ledger_are_told_apart(lots: Path) -> None:
    """A name that was mistyped, and a lot whose ledger is gone: each is said, with what to do."""
    ran = run("lots", "rakc", "rack")
    assert ran.code == 6
    assert "rakc: there is no such lot" in ran.err
    assert ran.out.startswith("rack\n5 cables, 5 tests")
    (lots / "rack" / LEDGER).unlink()
    ran = run("lots", "rack")
    assert (ran.code, ran.out) == (6, "")
    assert "its ledger is gone" in ran.err
    assert "`wiremap lots --rebuild LOT`" in ran.err
    assert run("lots", "rack", "--rebuild").code == 0


def test_a_capture_without_its_line_is_told_with_what_enters_it(lots: Path) -> None:
    """After a program was stopped between capture and line, it says so and what to do; `batch` then enters it."""
    path = lots / "rack" / LEDGER
    whole = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(whole[:-1]))
    ran = run("lots", "rack")
    assert ran.code == 3
    assert "a program was stopped between the two" in ran.out
    assert "`wiremap batch LOT` enters it as a test whose verdict nobody saw" in ran.out
    path.write_bytes(b"".join(whole[:-2]))
    ran = run("lots", "rack")
    assert "stopped" not in ran.out
    assert ran.out.count("no line of the ledger names the capture") == 2
    with open_ledger(lots / "rack"):
        assert run("lots", "rack").code == 0


def test_without_duckdb(lots: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without DuckDB, Parquet is refused with how to install it; everything else goes without it."""
    assert lots.is_dir()
    monkeypatch.setitem(sys.modules, "duckdb", None)
    ran = run("lots", "--save", str(tmp_path / "all.parquet"))
    assert ran.code == 2
    assert "wiremap[fleet]" in ran.err
    assert run("lots", "--save", str(tmp_path / "lot.csv")).code == 0


def test_parquet_of_a_folder_whose_name_looks_like_a_pattern(lots: Path, tmp_path: Path) -> None:
    """A ledger in a folder called boat[1] is itself, not that of boat1."""
    fill(tmp_path / "boat[1]", ("none",))
    fill(tmp_path / "boat1", ("none", "none", "none"))
    assert lots.is_dir()
    target = tmp_path / "one.parquet"
    assert run("lots", str(tmp_path / "boat[1]"), "--save", str(target)).code == 0
    with duckdb.connect() as engine:
        assert engine.execute(f"SELECT count(*) FROM '{target}'").fetchone() == (1,)


def test_a_ledger_that_was_edited_is_not_believed(lots: Path) -> None:
    """A verdict changed in a ledger whose lines follow one another again is named before any figure; exit code 3."""
    path = lots / "rack" / LEDGER
    edited, before = [], None
    for number, entry in enumerate(read_ledger(path), 1):
        verdict = "pass" if number == 2 else entry.verdict
        edited.append(line_of(msgspec.structs.replace(entry, verdict=verdict, before=before)))
        before = line_digest(edited[-1])
    path.write_bytes(b"".join(edited))
    ran = run("lots", "rack")
    assert ran.code == 3
    assert ran.out.startswith(
        "rack: NOT SOUND: line 2 of the ledger and its capture 00002-R-1.json differ in the verdict\n"
    )
    assert run("lots", "rack", "--json").objects()[0]["problems"] == [
        "line 2 of the ledger and its capture 00002-R-1.json differ in the verdict"
    ]
    ran = run("verify", str(lots / "rack"))
    assert ran.code == 3
    assert "differ in the verdict" in ran.out
    assert run("lots", "--close", "rack").code == 6
    assert not (lots / "rack" / "end-1.jsonl").exists()


def test_a_lot_is_closed(lots: Path) -> None:
    """A closed lot says by whom, with what, and what came after; a tail cut off ledger and captures shows."""
    assert run("lots", "--close").code == 2
    ran = run("lots", "--close", "rack")
    assert ran.code == 0
    end = (lots / "rack" / "end-1.jsonl").read_bytes()
    assert digest(end.partition(b"\n")[0] + b"\n")[7:23] in ran.err
    said = "signed with the key 'own': 5 lines, 5 captures (3 pass, 2 fail); nothing came after"
    assert said in run("lots", "rack").out
    assert said in run("verify", str(lots / "rack")).out
    mend(lots / "rack", "R-1", of=2)
    assert "(3 pass, 2 fail); one line came after" in run("lots", "rack").out
    assert run("lots", "--close", "rack", "--key", "none").code == 0
    ran = run("lots", "rack")
    assert "not signed, so anyone may have written it: 6 lines, 6 captures (4 pass, 2 fail); nothing" in ran.out
    kept = (lots / "rack" / LEDGER).read_bytes().splitlines(keepends=True)[:4]
    (lots / "rack" / LEDGER).write_bytes(b"".join(kept))
    for name in ("00005-R-4.json", "00006-R-1.json"):
        (lots / "rack" / "captures" / name).unlink()
    ran = run("lots", "rack")
    assert ran.code == 3
    assert "the ledger had 5 lines; some were cut off since" in ran.out
    assert run("verify", str(lots / "rack")).code == 3
    (lots / "rack" / "end-1.jsonl").write_bytes(end.replace(b'"lines":5', b'"lines":4'))
    assert "was changed after it was written" in run("lots", "rack").out
    (lots / "rack" / "end-1.jsonl").write_bytes(b"junk")
    assert run("lots", "rack").code == 6
