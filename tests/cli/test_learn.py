"""`wiremap learn`, and `wiremap test` with what was learnt: a stranger's tester on a loopback socket."""

import os
import random
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.reading.strangers import KNOWN, Nets, Stranger, jumper, sight

IMPATIENT = """
from wiremap.__main__ import main
from wiremap.cli.commands.tester import learn
learn.LISTEN_S = 1.0
main()
"""
STRAIGHT: Nets = frozenset(frozenset({("N", n), ("F", n)}) for n in range(8))
SWAPPED: Nets = frozenset(frozenset({("N", n), ("F", {2: 5, 5: 2}.get(n, n))}) for n in range(8))


def named(name: str) -> Stranger:
    """Return a stranger by name."""
    return next(tester for tester in KNOWN if tester.name == name)


@contextmanager
def printing(tester: Stranger, nets: Nets) -> Iterator[str]:
    """Print a cable again and again to whoever connects, and give the address."""
    stop = threading.Event()
    lines = ["scan 1", *tester.lines(tester, sight(nets))]
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.1)

        def serve() -> None:
            while not stop.is_set():
                try:
                    line, _ = server.accept()
                except TimeoutError:
                    continue
                with line:
                    try:
                        while not stop.wait(0.02):
                            line.sendall(("\r\n".join(lines) + "\r\n").encode())
                    except OSError:
                        continue

        thread = threading.Thread(target=serve)
        thread.start()
        try:
            yield f"socket://127.0.0.1:{server.getsockname()[1]}"
        finally:
            stop.set()
            thread.join()


def run(
    home: Path, *words: str, typed: str = "", program: tuple[str, ...] = ("-m", "wiremap")
) -> subprocess.CompletedProcess[str]:
    """Run the program with what is typed."""
    return subprocess.run(
        [sys.executable, *program, *words],
        env={**os.environ, "WIREMAP_HOME": str(home), "COLUMNS": "80"},
        input=typed,
        capture_output=True,
        text=True,
        timeout=100,
        check=False,
    )


@pytest.mark.parametrize(("name", "typed"), [("spaces", "\ny\n"), ("packed", "\ny\n"), ("hex, highest", "\ny\n")])
def test_a_stranger_is_learnt_and_tests(name: str, typed: str, tmp_path: Path) -> None:
    """One wire teaches it; a straight cable passes, an exchanged one fails; the record has the lines."""
    tester, mine = named(name), tmp_path / "mine.toml"
    with printing(tester, jumper(tester, "1", "2")) as address:
        done = run(tmp_path, "learn", "--tester", address, "--save", str(mine), typed=typed)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "no check value" in done.stdout
    kept = tmp_path / "cable.json"
    with printing(tester, STRAIGHT) as address:
        words = ("--talks", str(mine), "--expect", "straight")
        done = run(tmp_path, "test", "--tester", address, *words, "--save", str(kept))
    assert done.returncode == 0, done.stdout + done.stderr
    assert "no check value" in " ".join(done.stdout.split())
    assert "ohm" not in done.stdout.split("Not checked")[0]
    assert tester.lines(tester, sight(STRAIGHT))[0] in kept.read_text(encoding="utf-8")
    with printing(tester, SWAPPED) as address:
        assert run(tmp_path, "test", "--tester", address, *words).returncode == 3


def test_what_was_learnt_is_remembered(tmp_path: Path) -> None:
    """Without a file the device's own description is taken; one that was not kept is not."""
    tester = named("spaces")
    with printing(tester, jumper(tester, "1", "2")) as address:
        done = run(tmp_path, "learn", "--tester", address, typed="\nn\n")
        assert done.returncode == 4, done.stdout + done.stderr
        assert "Nothing was kept" in done.stdout
        assert not (tmp_path / "testers").exists()
        done = run(tmp_path, "learn", "--tester", address, typed="\ny\n")
        assert done.returncode == 0, done.stdout + done.stderr
        done = run(tmp_path, "test", "--tester", address, "--expect", "straight", "--json")
        assert done.returncode == 3, done.stdout + done.stderr
        assert '"heard"' not in done.stderr


def test_a_lot_is_swept_by_a_stranger(tmp_path: Path) -> None:
    """`wiremap batch` tests what such a tester prints, and stops after one cable."""
    tester, mine = named("spaces"), tmp_path / "mine.toml"
    mine.write_text('format = 1\n[rows]\nform = "cells"\n', encoding="utf-8")
    with printing(tester, STRAIGHT) as address:
        words = ("--tester", address, "--talks", str(mine), "--expect", "straight", "--count", "1", "--idle", "0.1")
        done = run(tmp_path, "batch", "rack", *words)
    assert done.returncode == 0, done.stdout + done.stderr


def test_random_strangers_are_told_apart_from_silence(tmp_path: Path) -> None:
    """A port that prints something else is no tester: exit 5, and nothing is kept."""
    tester = Stranger("chatter", lambda _tester, _seen: [f"temp={random.Random(1).random():.3f}"])
    with printing(tester, frozenset()) as address:
        done = run(tmp_path, "learn", "--tester", address, program=("-c", IMPATIENT))
    assert done.returncode == 5, done.stdout + done.stderr
    assert "could not be learnt" in done.stderr
    assert not list(tmp_path.iterdir())


def test_an_unknown_tester_is_pointed_to_learn(tmp_path: Path) -> None:
    """Whoever tests with a stranger's tester that was not learnt is told what would teach it."""
    with printing(named("spaces"), STRAIGHT) as address:
        done = run(tmp_path, "test", "--tester", address, "--expect", "straight")
    assert done.returncode == 5, done.stdout + done.stderr
    assert "wiremap learn" in done.stderr
