"""A command as a process of its own, ended, or its disk full, at a counted step; steps.c says what a step is."""

import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

import pytest

from wiremap.records.new_file import PART

How = Literal["before", "after", "half", "full", "failed", "denied"]
KILLED: tuple[How, ...] = ("before", "after", "half")
REFUSED: tuple[How, ...] = ("full", "failed", "denied")
SOURCE = Path(__file__).parent / "steps.c"


@dataclass(frozen=True)
class Fate:
    """What happens to a process: at its step of that number, from 1; or killed after so long, when at is None."""

    at: int | None
    how: How = "before"
    after_s: float = 0.0


@dataclass(frozen=True)
class Ended:
    """How a process ended: its exit code, negative = killed, what it printed and said, and its steps, a letter each."""

    code: int
    out: str
    err: str
    steps: str


@cache
def library() -> str:
    """Return the counting library, built; a test skips where there is no compiler or no such loader."""
    if shutil.which("cc") is None or not sys.platform.startswith("linux"):
        pytest.skip("steps are counted where `cc` is and the loader knows LD_PRELOAD")
    built = str(Path(tempfile.mkdtemp(prefix="steps-")) / "steps.so")
    subprocess.run(["cc", "-shared", "-fPIC", "-O1", "-Wall", "-o", built, str(SOURCE), "-ldl"], check=True)
    return built


def environment(disk: Path, fate: Fate | None, log: Path) -> Mapping[str, str]:
    """Return the environment of a process whose own files are all under `disk`, and whose steps there are counted."""
    (disk / "spare").mkdir(parents=True, exist_ok=True)
    given = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(sys.path),
        "PYTHONDONTWRITEBYTECODE": "1",
        "WIREMAP_HOME": str(disk / "home"),
        "TMPDIR": str(disk / "spare"),
        "LD_PRELOAD": library(),
        "STEPS_UNDER": str(disk),
        "STEPS_LOG": str(log),
    }
    if fate is not None and fate.at is not None:
        given |= {"STEPS_AT": str(fate.at), "STEPS_HOW": fate.how}
    return given


def run(disk: Path, fate: Fate | None, *words: str, program: str = "") -> Ended:
    """Run the command, or a program of Python, to its end or to its fate; a command says all that goes wrong itself."""
    with tempfile.TemporaryDirectory() as beside:
        log = Path(beside) / "log"
        process = subprocess.Popen(
            [sys.executable, *(["-c", program] if program else ["-m", "wiremap"]), *words],
            env=environment(disk, fate, log),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        try:
            out, err = process.communicate(timeout=fate.after_s if fate is not None and fate.at is None else 120)
        except subprocess.TimeoutExpired:
            process.kill()
            out, err = process.communicate()
        steps = log.read_text() if log.exists() else ""
    assert program or "Traceback" not in err, err
    return Ended(process.returncode, out, err, steps)


def fates(seed: int, count: int, steps: int, hows: tuple[How, ...], whole_s: float) -> Iterator[Fate]:
    """Give what happens to one process after the other.

    Every step in every way, in an order that the seed gives, again and again; each fourth death is at any moment of
    the time that a process takes.
    """
    draw = random.Random(seed)
    waiting: list[Fate] = []
    for number in range(count):
        if number % 4 == 3 and hows == KILLED:
            yield Fate(None, after_s=draw.uniform(0.3, 1.1) * whole_s)
            continue
        if not waiting:
            waiting = [Fate(at, how) for at in range(1, steps + 1) for how in hows]
            draw.shuffle(waiting)
        yield waiting.pop()


def parts(folder: Path) -> list[Path]:
    """Return the half-written files anywhere in a folder."""
    return [path for path in folder.rglob(".*.part") if PART.fullmatch(path.name)]


def make_old(folder: Path) -> None:
    """Make what is half written as old as it is when somebody comes back the next day."""
    for path in parts(folder):
        os.utime(path, (1e9, 1e9))
