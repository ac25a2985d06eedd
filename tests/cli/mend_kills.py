"""Repairs that are killed at any moment: what the page acknowledged is on the disk, and each goes on where it was."""

import json
import os
import random
import subprocess
import sys
import time
from itertools import pairwise
from pathlib import Path
from typing import Any

from wiremap.bench.mend.events import Mend
from wiremap.bench.mend.machine import what_now
from wiremap.bench.mend.mend_book import gone_on
from wiremap.bench.mend.shown import step_shown
from wiremap.judge.case import requirements
from wiremap.records.captures.capture import read_capture
from wiremap.records.mend_file import MendFile, mend_path, read_mend

KEYS = "0120u21u n"
MOST_WAIT_S = 0.03
AT_START_S = 1.5  # a life that is killed while it starts, or measures, is killed within this time
LIVES = 2


def killed(folder: Path, seed: int, tester: str = "") -> tuple[int, int]:
    """Answer some questions of a repair and kill it at some moment, twice, then let it go on; tester: where one is.

    Return how often it was killed, and how many things were kept. AssertionError where a thing that a page was shown
    for is lost, the file is not whole, it does not go on where it was, or a capture is half written.
    """
    choose = random.Random(seed)
    home, kept = folder / f"home {seed}", folder / f"kept {seed}"
    kept.mkdir()
    words = ["mend", "--expect", "straight", "--json", "--save", str(kept), "--key", "none"]
    words += ["--tester", tester] if tester else [str(folder / "table.csv"), "--cells", "continuity"]
    acknowledged = 0
    for _ in range(LIVES):
        acknowledged = _one_life(home, words, choose, acknowledged)
        _whole_captures(kept)
    found, file = _entries(home), _file(home)
    assert found >= acknowledged, f"seed {seed}: {acknowledged} things were acknowledged, {found} are kept"
    first = _first_page(home, words)
    if file is not None and file.entries and not file.over:
        assert first["now"] == _now(home, file, bool(tester)), f"seed {seed}: it does not go on where it was"
    _whole_captures(kept)
    return LIVES, _entries(home)


def _one_life(home: Path, words: list[str], choose: random.Random, acknowledged: int) -> int:
    """Start it, press some keys, kill it; return how many things must be kept from now on."""
    before = _entries(home)
    assert before >= acknowledged, f"{acknowledged} things were acknowledged, {before} are kept"
    process = _started(home, words)
    assert process.stdin is not None
    assert process.stdout is not None
    if choose.random() < 0.3:
        time.sleep(choose.uniform(0.0, AT_START_S))
    else:
        pages = [json.loads(process.stdout.readline())]
        for _ in range(choose.randrange(1, 6)):
            process.stdin.write(choose.choice(KEYS).encode())
            process.stdin.flush()
            if choose.random() < 0.3:
                break
            if not (line := process.stdout.readline()):
                break
            pages.append(json.loads(line))
        changes = sum((one["step"], one["now"]) != (other["step"], other["now"]) for one, other in pairwise(pages))
        begun = max(before, int(pages[0].get("step") != "measure"))  # a table is kept before its first page
        acknowledged = max(acknowledged, begun + changes)  # another page follows from something that was reported
        time.sleep(choose.uniform(0.0, MOST_WAIT_S))
    shown = _entries(home)
    process.kill()
    process.communicate()
    assert _entries(home) >= max(shown, acknowledged), f"{shown} things were kept, then {_entries(home)}"
    return max(shown, acknowledged)


def _started(home: Path, words: list[str]) -> "subprocess.Popen[bytes]":
    return subprocess.Popen(
        [sys.executable, "-m", "wiremap", *words],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "WIREMAP_HOME": str(home)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )


def _first_page(home: Path, words: list[str]) -> dict[str, Any]:
    """Return the first page of a life that is left in peace; its standard input ends at once."""
    done, _ = _started(home, words).communicate(timeout=120)
    found: dict[str, Any] = json.loads(done.splitlines()[0])
    return found


def _now(home: Path, file: MendFile, live: bool) -> str:
    """Return what the first page must say, worked out from the file alone."""
    mend = gone_on(_path(home), file, Mend(requirements("straight"), live=live)).mend
    return step_shown(mend, what_now(mend)).now


def _whole_captures(folder: Path) -> None:
    """See that every capture is whole, and that nothing else was left."""
    for path in folder.iterdir():
        assert path.suffix == ".json", path
        read_capture(path.read_bytes(), path.name)


def write_table(folder: Path) -> None:
    """Write the table of a cable with two conductors exchanged."""
    rows = [[int(column == {2: 5, 5: 2}.get(row, row)) for column in range(8)] for row in range(8)]
    text = "\n".join(",".join(map(str, row)) for row in rows) + "\n"
    (folder / "table.csv").write_text(text, encoding="utf-8")


def write_sound(folder: Path) -> None:
    """Write the table of a sound straight cable."""
    rows = "\n".join(",".join("1" if row == column else "0" for column in range(8)) for row in range(8))
    (folder / "sound.csv").write_text(rows + "\n", encoding="utf-8")


def _path(home: Path) -> Path:
    return home / "mending" / mend_path("").name


def _file(home: Path) -> MendFile | None:
    return read_mend(_path(home))


def _entries(home: Path) -> int:
    """Return how many things are kept; the file, where there is one, is whole."""
    found = _file(home)
    return len(found.entries) if found is not None else 0
