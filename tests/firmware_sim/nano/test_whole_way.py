"""From the pins of a simulated chip to the page: the bare tester, and strangers' sketches learnt with one wire."""

import os
import subprocess
import sys
from pathlib import Path

from tests.firmware_sim.nano.chip import Chip, firmware
from tests.firmware_sim.nano.counts import check_drives
from tests.firmware_sim.nano.strange import FIRST_FAR, count_sketches, stranger

LOADER_MS = 1_500  # a board is reset when its port opens, and its loader deaf for 1 to 2 s (from memory)
STRAIGHT = [[near, near + 9] for near in range(1, 10)]
EXCHANGED = [[1, 10], [2, 11], [3, 15], [4, 13], [5, 14], [6, 12], [7, 16], [8, 17], [9, 18]]


def run(home: Path, *words: str, typed: str = "") -> subprocess.CompletedProcess[str]:
    """Run the program with what is typed."""
    return subprocess.run(
        [sys.executable, "-m", "wiremap", *words],
        env={**os.environ, "WIREMAP_HOME": str(home), "COLUMNS": "80"},
        input=typed,
        capture_output=True,
        text=True,
        timeout=200,
        check=False,
    )


def test_a_bare_tester_that_resets_when_it_is_opened_passes_and_fails_cables(tmp_path: Path) -> None:
    """A straight cable passes, one with 3 and 6 exchanged fails, a voltage is refused; no ohms are told."""
    with Chip(firmware(), boot_ms=LOADER_MS) as chip:
        words = ("test", "--tester", chip.address, "--expect", "straight")
        chip.put(STRAIGHT, metres=20)
        done = run(tmp_path, *words)
        assert done.returncode == 0, done.stdout + done.stderr
        assert done.stdout.startswith("PASS")
        assert "below 10 kohm is joined" in " ".join(done.stdout.split())
        chip.put(EXCHANGED, metres=20)
        done = run(tmp_path, *words)
        assert done.returncode == 3, done.stdout + done.stderr
        assert "Pair 3-6 is reversed." in done.stdout
        check_drives(chip)
        chip.order("source 3 0 1000 5000 0")
        done = run(tmp_path, *words)
        assert done.returncode == 4, done.stdout + done.stderr
        assert "There is voltage on near 3" in done.stdout


def test_a_strangers_sketch_is_learnt_and_tests(tmp_path: Path) -> None:
    """`wiremap learn` with one wire between two pins, then `wiremap test` knows the device by itself."""
    with stranger("raw_table") as chip:
        chip.put([[1, FIRST_FAR + 1]])
        done = run(tmp_path, "learn", "--tester", chip.address, typed="\ny\n")
        assert done.returncode == 0, done.stdout + done.stderr
        chip.put([[near, near + FIRST_FAR - 1] for near in range(1, 9)])
        done = run(tmp_path, "test", "--tester", chip.address, "--expect", "straight")
        assert done.returncode == 0, done.stdout + done.stderr
        assert "no check value" in " ".join(done.stdout.split())


def test_every_sketch_is_learnt_with_one_wire_and_read_right() -> None:
    """A few of the cables of the long check, with each of the three."""
    count_sketches(5, 3)
