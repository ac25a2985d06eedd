"""The simulator as its users start it: `python -m firmware_sim` in a process of its own."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import firmware_sim

ROOT = Path(firmware_sim.__file__).parent.parent

STRAIGHT = """
format = 1
board = "reference"
near = "T568B"
far = "T568B"
[[segment]]
cable = "F/UTP"
length_m = 2.0
"""


@contextmanager
def simulator(*options: str, cable: str | Path = "patch") -> Iterator[tuple[str, "subprocess.Popen[str]"]]:
    """Start it with a cable and give its address and process; it ends when its input closes."""
    command = [sys.executable, "-m", "firmware_sim", "--cable", str(cable), "--while-stdin-open", *options]
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    process = subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment
    )
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stderr is not None
    try:
        address = process.stdout.readline().strip()
        assert address, process.stderr.read()
        yield address, process
    finally:
        process.stdin.close()
        try:
            process.wait(20)
        finally:
            process.kill()
            process.wait()
            process.stdout.close()
            process.stderr.close()


def described(folder: Path, line: str = "", more: str = "") -> Path:
    """Write a description of a straight cable with a [line] of one's own; return the file."""
    path = folder / "cable.toml"
    path.write_text(f"{STRAIGHT}{more}\n[line]\n{line}\n")
    return path
