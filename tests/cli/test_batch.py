import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.cli.benches import Bench, plugged_in
from tests.cli.running import run
from wiremap.cable.patterns import FOLDER as PATTERNS
from wiremap.records.captures.files import load
from wiremap.records.lots.plan import keep_plan, read_plan

FAULTS = ["none", "exchanged", "none", "short", "open-middle", "none"]


def start(address: str, home: Path, *words: str) -> "subprocess.Popen[str]":
    """Start `wiremap batch rack` as a process of its own."""
    command = [sys.executable, "-m", "wiremap", "batch", "rack", "--tester", address, "--json", "--key", "none", *words]
    environment = {**os.environ, "WIREMAP_HOME": str(home), "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    return subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment
    )


def test_a_lot_from_the_command_line(tmp_path: Path) -> None:
    """Each cable gives one JSON line with label, verdict and capture; the summary comes last; exit 3, as one failed."""
    bench = Bench(FAULTS)
    cables: list[dict[str, Any]] = []
    with plugged_in(bench) as address:
        process = start(address, tmp_path, "--expect", "straight", "--count", "6", "--prefix", "RACK-")
        assert process.stdout is not None
        assert process.stdin is not None
        for _ in FAULTS:
            cables.append(json.loads(process.stdout.readline()))
            bench.seen()
        assert process.stderr is not None
        told = [next(process.stderr)]
        while "Every cable of the lot is tested" not in told[-1]:
            told.append(next(process.stderr))
        process.stdin.write("q\n")
        out, err = process.communicate(timeout=30)
    assert process.returncode == 3, err
    assert "\a" not in "".join(told)
    assert [cable["label"] for cable in cables] == [f"RACK-00{k}" for k in range(1, 7)]
    assert [cable["verdict"] for cable in cables] == ["pass", "fail", "pass", "fail", "fail", "pass"]
    assert [cable["number"] for cable in cables] == [1, 2, 3, 4, 5, 6]
    assert cables[1]["findings"][0]["fault"] == "reversed-pair"
    for cable in cables:
        kept = load(Path(cable["capture"]))
        assert kept.record is not None
        assert kept.record.job.cable == cable["label"]
    summary = json.loads(out)["summary"]
    assert (summary["cables"], summary["first_pass"]["count"]) == (6, 3)


def test_a_lot_without_a_keyboard_ends_with_its_last_cable(tmp_path: Path) -> None:
    """Where standard input is closed nobody can say stop: the lot ends when every cable has been tested."""
    bench = Bench(["none"])
    with plugged_in(bench) as address:
        process = start(address, tmp_path, "--expect", "straight", "--count", "1")
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.close()
        process.stdin = None
        first = json.loads(process.stdout.readline())
        bench.seen()
        out, err = process.communicate(timeout=60)
    assert (process.returncode, first["verdict"]) == (0, "pass"), err
    assert json.loads(out)["summary"]["cables"] == 1


def test_a_lot_keeps_its_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A lot goes on with the settings it began with; other ones are refused by name, before the tester is touched."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path))
    plan = tmp_path / "job.toml"
    plan.write_text('format = 1\nexpect = "straight"\ncount = 48\nprefix = "RACK-"\nnear = "helm"\n')
    first = run("batch", "rack", "--plan", str(plan), "--tester", "/dev/none")
    assert first.code == 5
    assert "there is no such port" in first.err
    assert not (tmp_path / "lots").exists(), "nothing begins without a tester"
    keep_plan(tmp_path / "lots" / "rack", read_plan(plan))
    kept = (tmp_path / "lots" / "rack" / "lot.toml").read_text()
    assert kept == 'format = 1\nexpect = "straight"\ncount = 48\nprefix = "RACK-"\nnear = "helm"\n'
    other = run("batch", "rack", "--expect", "crossover", "--tester", "/dev/none")
    assert other.code == 2
    assert "began with other settings (expect, count, prefix, near)" in other.err
    assert run("batch", "rack", "--tester", "/dev/none").code == 5
    for number in ("0", "1"):
        words = ("--expect", "m12a-5pole", "--terminators", number, "--tester", "sim:patch", "--idle", "0")
        assert run("batch", f"bus {number}", *words, "--key", "none").code == 0
        assert read_plan(tmp_path / "lots" / f"bus {number}" / "lot.toml").terminators == int(number)
    unknown = run("batch", "of a reel", "--expect", "straight", "--kind", "cat5", "--tester", "sim:patch")
    assert (unknown.code, (tmp_path / "lots" / "of a reel").exists()) == (2, False)
    words = ("--expect", "straight", "--kind", "cat5e-utp", "--tester", "sim:patch", "--idle", "0")
    assert run("batch", "of a reel", *words, "--key", "none").code == 0
    assert read_plan(tmp_path / "lots" / "of a reel" / "lot.toml").kind == "cat5e-utp"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("format = 1\nexpekt = 1\n", "key 'expekt' is not known"),
        ("format = 1\ncount = 2.5\n", "key 'count' is 2.5"),
        ('format = 1\nlabels = "guessed"\n', "key 'labels' is 'guessed'"),
        ("format = 2\n", "key 'format' is 2"),
        ("format =", "is not TOML"),
    ],
)
def test_a_wrong_job_file_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str, says: str) -> None:
    """A wrong job file is an error with file and key, and nothing is begun."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path))
    plan = tmp_path / "job.toml"
    plan.write_text(text)
    ran = run("batch", "rack", "--plan", str(plan), "--tester", "/dev/none")
    assert ran.code == 6
    assert says in ran.err
    assert "hint: " in ran.err
    assert not (tmp_path / "lots").exists()


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        ((), 2, "nothing is expected of its cables"),
        (("--expect", "straigt"), 2, "there is no pattern 'straigt'"),
        (("--expect", "straight", "--near-adapter", "none"), 2, "there is no pattern 'none'"),
        (("--expect", "straight", "--screen", "some"), 2, "--screen some"),
        (("--expect", "straight", "--key", "none.pem"), 6, "none.pem: cannot be read"),
        (("--expect", "straight", "--prefix", "R\x1b[H"), 2, "lot: prefix is"),
        (("--expect", "straight", "--prefix", "R\udcff"), 2, "lot: prefix is"),
        (("--expect", "straight", "--count", "1000001"), 2, "--count"),
        (("--expect", "none.toml"), 6, "none.toml: cannot be read"),
        (("--plan", "none.toml"), 6, "none.toml: cannot be read"),
    ],
)
def test_nothing_begins_that_could_not_go_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], code: int, says: str
) -> None:
    """What can be checked is, before the tester is looked for, and no lot is left behind by what was refused."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    ran = run("batch", "rack", "--tester", "/dev/none", "--idle", "1", *words)
    assert ran.code == code
    assert says in ran.err
    assert not (tmp_path / "home" / "lots").exists()


def test_a_lots_folder_that_cannot_be_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no lot can be kept, that is said before the tester is looked for."""
    (tmp_path / "file").write_bytes(b"")
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "file"))
    ran = run("batch", "rack", "--expect", "straight", "--key", "none", "--tester", "/dev/none", "--idle", "1")
    assert ran.code == 6
    assert "lots/rack: cannot be made, since" in ran.err
    assert "WIREMAP_HOME" in ran.err


def test_a_lot_goes_on_from_any_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A pattern file of one's own is kept by its full name, so that the lot goes on wherever one stands."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    (tmp_path / "own.toml").write_text((PATTERNS / "straight.toml").read_text(encoding="utf-8"), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    words = ("--tester", "sim:patch", "--idle", "0", "--key", "none")
    assert run("batch", "rack", "--expect", "own.toml", *words).code == 0
    (tmp_path / "other").mkdir()
    monkeypatch.chdir(tmp_path / "other")
    assert run("batch", "rack", *words).code == 0


@pytest.mark.parametrize("name", ["../rack", "", ".", "a/b", "rack.", "x" * 61])
def test_a_name_that_is_no_lot(name: str) -> None:
    """A lot's name is a folder's name: anything else is a usage error."""
    ran = run("batch", name, "--tester", "/dev/none")
    assert ran.code == 2
    assert "cannot be the name of a lot" in ran.err
