"""Without a terminal nothing goes on for ever, and nothing crashes: standard input empty, a pipe, or none at all."""

import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest

from tests.cli.running import Ran
from wiremap.cli.app import READER_GONE

PATIENCE_S = 120
ON_SIM = ("--tester", "sim:patch", "--expect", "straight")


def piped(home: Path, *words: str, stdin: str = "</dev/null", stdout: int = subprocess.PIPE) -> Ran:
    """Run the command in a shell; stdin: what is redirected, or a command and a bar; stdout: else a handle."""
    environment: Mapping[str, str] = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(sys.path),
        "WIREMAP_HOME": str(home),
        "OMP_NUM_THREADS": "1",
        "OPENBLAS_NUM_THREADS": "1",
    }
    program = 'exec "$0" -m wiremap "$@"'
    done = subprocess.run(
        ["bash", "-c", f"{stdin} {program}" if stdin.endswith("|") else f"{program} {stdin}", sys.executable, *words],
        env=environment,
        cwd=home,
        stdout=stdout,
        stderr=subprocess.PIPE,
        text=True,
        timeout=PATIENCE_S,
        check=False,
    )
    assert "Traceback" not in done.stderr, done.stderr
    assert "Exception ignored" not in done.stderr, done.stderr
    return Ran(done.returncode, done.stdout or "", done.stderr)


@pytest.mark.parametrize("stdin", ["</dev/null", "<&-", "printf 'q' |"])
@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("watch", *ON_SIM), "--minutes 5"),
        (("watch", *ON_SIM, "--minutes", "0"), "--minutes 5"),
        (("batch", "rack", *ON_SIM), "--count 48"),
        (("test", *ON_SIM, "--repeat"), "--minutes 10"),
    ],
)
def test_what_only_a_key_could_end_is_refused(tmp_path: Path, words: tuple[str, ...], says: str, stdin: str) -> None:
    """A command that only a key, or an interrupt, could end says at once what to give instead; nothing is begun."""
    ran = piped(tmp_path, *words, stdin=stdin)
    assert ran.code == 2
    assert "without a terminal" in ran.err
    assert says in ran.err
    assert list(tmp_path.iterdir()) == []


def test_a_watch_ends_with_its_time(tmp_path: Path) -> None:
    """Without a terminal a watch ends when its time is over: undecided for want of movements, or a pass without."""
    words = ("watch", *ON_SIM, "--minutes", "0.02")
    ran = piped(tmp_path, *words)
    assert ran.code == 4
    assert "The time is over" in ran.err
    ran = piped(tmp_path, *words, "--moves", "0", stdin="sleep 1 |")
    assert ran.code == 0, ran.err
    assert ran.out.startswith("PASS")


def test_a_lot_ends_when_no_cable_comes(tmp_path: Path) -> None:
    """A lot in whose sockets a cable stays, which is to come out first, ends by itself and says why, as often as one
    likes.
    """
    ran = piped(tmp_path, "batch", "rack", *ON_SIM, "--idle", "0.02", "--prefix", "R-")
    assert ran.code == 0, ran.err
    assert "No cable was put in or tested for 0.02 min, so the lot stops here." in ran.err
    again = piped(tmp_path, "batch", "rack", "--tester", "sim:patch", "--idle", "0", stdin="printf '' |")
    assert again.code == 0, again.err


def test_tests_are_repeated_for_as_long_as_was_said(tmp_path: Path) -> None:
    """With a time given, tests are repeated that long, and the exit code is that of the last."""
    words = ("--tester", "sim:far-3-6-exchanged", "--expect", "straight", "--repeat", "--minutes", "0.01")
    ran = piped(tmp_path, "test", *words)
    assert ran.code == 3
    assert "Pair 3-6 is reversed" in ran.out


@pytest.mark.parametrize(
    "words",
    [
        ("test", *ON_SIM, "--json"),
        ("test", *ON_SIM, "--repeat", "--minutes", "0.01"),
        ("watch", *ON_SIM, "--minutes", "0.01"),
        ("batch", "rack", *ON_SIM, "--idle", "0", "--json"),
        ("pinout", "--expect", "straight"),
        ("judge", "one.csv", "--expect", "m12d-m12d", "--cells", "continuity"),
        ("verify", "--public-key"),
        ("--help",),
        ("--version",),
    ],
)
def test_whoever_reads_the_output_may_stop(tmp_path: Path, words: tuple[str, ...]) -> None:
    """Where the reader of its output is gone, a command ends as shells expect it, and never with a crash."""
    write_table(tmp_path)
    gone, output = os.pipe()
    os.close(gone)
    try:
        assert piped(tmp_path, *words, stdout=output).code == READER_GONE
    finally:
        os.close(output)


@pytest.mark.parametrize("closed", ["<&- >&-", "<&- 2>&-", ">&- 2>&-"])
@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("lots",), 2),
        (("testers",), 5),
        (("pinout", "--expect", "straight"), 0),
        (("judge", "one.csv", "--expect", "m12d-m12d", "--cells", "continuity"), 3),
        (("verify", "one.csv"), 6),
        (("report", "one.csv"), 6),
        (("--version",), 0),
    ],
)
def test_standard_input_and_output_may_be_closed(
    tmp_path: Path, words: tuple[str, ...], code: int, closed: str
) -> None:
    """Started with any of the three closed, a command does the same and ends with the same code."""
    write_table(tmp_path)
    assert piped(tmp_path, *words, stdin=closed).code == code


def write_table(folder: Path) -> None:
    """Put the table of a cable into a folder whose last pair is exchanged."""
    (folder / "one.csv").write_text("1,0,0,0\n0,1,0,0\n0,0,0,1\n0,0,1,0\n")
