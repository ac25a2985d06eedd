"""How long the lines of a ledger take, beside DuckDB on one thread on the same file, and a lot that is held against its
captures beside the ledger alone: prints times, peaks of memory and ratios.

python -m tests.benchmarks.ledgers [LINES [CAPTURES]]
"""

import os
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.bench.lots import STRAIGHT
from tests.bench.world import Cable
from wiremap.bench.lot_book import LotBook
from wiremap.bench.sweep_events import KeepRecord, Outcome
from wiremap.judge.case import JobNames, judge_case
from wiremap.records.lots.ledger import open_ledger
from wiremap.records.lots.ledger_entry import Entry, LedgerFault, line_digest, line_of
from wiremap.records.lots.plan import LotPlan

LINES, CAPTURES = 200_000, 1_000
OURS = """
import sys, pathlib
from wiremap.records.lots.statistics import summarise
found = summarise(pathlib.Path(sys.argv[1]), "lot")
print(found.cables, found.tests, found.first_pass.count, dict(found.newest)["pass"], sum(dict(found.faults).values()))
"""
THEIRS = """
import sys, duckdb
line = duckdb.connect()
line.execute("set threads to 1")
line.execute("set enable_progress_bar = false")
line.execute('''create table entry as select * from read_json(?, format='newline_delimited', columns={
  kind: 'varchar', number: 'bigint', made_utc: 'varchar', "of": 'bigint', verdict: 'varchar',
  faults: 'struct(fault varchar, near varchar[], far varchar[], "end" varchar)[]',
  contact_ohm: 'double', length_m: 'double'}) where kind = 'test' ''', [sys.argv[1]])
tests, = line.execute("select count(*) from entry").fetchone()
cables, first = line.execute(
    "select count(*), count(*) filter (verdict = 'pass') from entry where \\"of\\" is null").fetchone()
final, = line.execute(
    "select count(*) filter (verdict = 'pass') from entry where number not in "
    "(select \\"of\\" from entry where \\"of\\" is not null)").fetchone()
faults, = line.execute(
    "select sum(tests) from (select fault.fault, count(distinct number) as tests from "
    "(select number, unnest(faults) as fault from entry) group by fault.fault)").fetchone()
line.execute("select substr(made_utc, 1, 13), count(*) from entry group by 1").fetchall()
line.execute("select fault.\\"end\\", unnest(fault.near), count(distinct number) from "
    "(select number, unnest(faults) as fault from entry) group by 1, 2").fetchall()
line.execute("select median(length_m), min(length_m), max(length_m) from entry").fetchall()
print(cables, tests, first, final, int(faults))
"""


def write_ledger(path: Path, lines: int, seed: int = 1) -> None:
    """Write a ledger as a long lot would leave it: most cables pass, those that do not are tested again."""
    draw = random.Random(seed)
    faults = (
        LedgerFault("open", ("3",), ("3",), "far"),
        LedgerFault("reversed-pair", ("4", "5"), ("5", "4"), None),
        LedgerFault("split-pair", ("3", "4", "5", "6"), ("3", "4", "5", "6"), "near"),
    )
    before = None
    again: int | None = None
    label = ""
    with path.open("wb") as file:
        for number in range(1, lines + 1):
            bad = draw.random() < 0.08
            label = label if again else f"RACK-{number:06d}"
            line = line_of(
                Entry(
                    1,
                    "test",
                    number,
                    f"2026-03-{1 + number // 40_000 % 28:02d}T{8 + number // 4000 % 10:02d}:30:00Z",
                    label=label,
                    before=before,
                    of=again,
                    verdict="fail" if bad else "pass",
                    faults=(draw.choice(faults),) if bad else (),
                    capture="sha256:" + f"{number:064x}",
                    file=f"{number:05d}-{label}.json",
                    tester="53494D0000000001",
                    insertion=number,
                    contact_ohm=round(draw.gauss(0.21, 0.01), 4),
                    length_m=round(draw.gauss(2.0, 0.03), 3),
                )
            )
            file.write(line)
            before = line_digest(line)
            again = number if bad and not again else None


def timed(*words: str) -> tuple[float, int, str]:
    """Run Python with these words; return whole-process seconds, its peak memory in MB, and what it printed."""
    began = time.perf_counter()
    with subprocess.Popen([sys.executable, *words], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        said = process.stdout.read()
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0
    return time.perf_counter() - began, used.ru_maxrss // 1024, said.strip()


def main() -> None:
    """Measure both, three times each in turn, and print the best."""
    lines = int(sys.argv[1]) if len(sys.argv) > 1 else LINES
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "lot" / "ledger.jsonl"
        path.parent.mkdir()
        write_ledger(path, lines)
        print(f"{lines} lines, {path.stat().st_size / 1e6:.0f} MB")
        ran = [(timed("-c", OURS, str(path)), timed("-c", THEIRS, str(path))) for _ in range(3)]
    ours, theirs = min(one for one, _ in ran), min(other for _, other in ran)
    assert ours[2] == theirs[2], "they count otherwise"
    print(f"statistics  {ours[0]:.2f} s, peak {ours[1]} MB: {ours[2]}")
    print(f"DuckDB      {theirs[0]:.2f} s, peak {theirs[1]} MB: {theirs[2]}")
    print(f"ratio {ours[0] / theirs[0]:.2f} (at most 2), memory {ours[1]} MB (at most 200)")
    _with_captures(int(sys.argv[2]) if len(sys.argv) > 2 else CAPTURES)


def _with_captures(count: int) -> None:
    """Measure the whole command on a lot that has its captures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "lot"
        with open_ledger(folder) as ledger:
            book = LotBook(ledger, folder.name, LotPlan(), None)
            for number in range(count):
                case = judge_case(Cable(number, "none").reading(number), STRAIGHT, JobNames())
                outcome = Outcome(case.diagnosis.verdict, frozenset(), case)
                book.record(KeepRecord(outcome, f"R-{number}", None, False, number + 1, count))
        whole = min(timed("-m", "wiremap", "lots", str(folder)) for _ in range(3))
        alone = min(timed("-c", OURS, str(folder / "ledger.jsonl")) for _ in range(3))
    each_ms = 1000 * (whole[0] - alone[0]) / count
    print(
        f"wiremap lots on {count} captures: {whole[0]:.2f} s, peak {whole[1]} MB; its ledger alone {alone[0]:.2f} s, so"
    )
    print(f"{each_ms:.2f} ms a capture to start the command and hold each against its line")


if __name__ == "__main__":
    main()
