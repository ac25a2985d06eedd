"""Repairs that are killed at any moment: what the page acknowledged is on the disk, and the file is whole."""

import json
import os
import random
import subprocess
import sys
import time
from pathlib import Path

from wiremap.records.mend_file import MendFile, read_mend

KEYS = "0120u21u"
MOST_WAIT_S = 0.03


def killed(folder: Path, seed: int) -> tuple[int, int]:
    """Answer some questions of a repair and kill it at some moment; return what was acknowledged, and what was kept.

    AssertionError where a thing that was acknowledged is lost, or the file is not whole.
    """
    choose = random.Random(seed)
    home = folder / f"home {seed}"
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "WIREMAP_HOME": str(home)}
    words = ["mend", str(folder / "table.csv"), "--cells", "continuity", "--expect", "straight", "--json"]
    acknowledged = 0
    for life in range(2):  # the second goes on where the first was killed
        process = subprocess.Popen(
            [sys.executable, "-m", "wiremap", *words],
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        assert process.stdin is not None
        assert process.stdout is not None
        before = _entries(home)
        assert before >= acknowledged, f"seed {seed}: {acknowledged} things were acknowledged, {before} are kept"
        json.loads(process.stdout.readline())
        acknowledged = before or 1  # the first page follows from the table, which is kept by then
        for _ in range(choose.randrange(1, 6)):
            process.stdin.write(choose.choice(KEYS).encode())
            process.stdin.flush()
            if choose.random() < 0.3:
                break
            line = process.stdout.readline()
            if not line:
                break
            json.loads(line)
            acknowledged = max(acknowledged, 1)
        shown = _entries(home)
        time.sleep(choose.uniform(0.0, MOST_WAIT_S))
        process.kill()
        process.communicate()
        kept = _entries(home)
        assert kept >= shown >= acknowledged, f"seed {seed}, life {life}: {shown} were kept, then {kept}"
        acknowledged = kept
    return acknowledged, _entries(home)


def write_table(folder: Path) -> None:
    """Write the table of a cable with two conductors exchanged."""
    rows = [[int(column == {2: 5, 5: 2}.get(row, row)) for column in range(8)] for row in range(8)]
    text = "\n".join(",".join(map(str, row)) for row in rows) + "\n"
    (folder / "table.csv").write_text(text, encoding="utf-8")


def write_sound(folder: Path) -> None:
    """Write the table of a sound straight cable."""
    rows = "\n".join(",".join("1" if row == column else "0" for column in range(8)) for row in range(8))
    (folder / "sound.csv").write_text(rows + "\n", encoding="utf-8")


def _entries(home: Path) -> int:
    """Return how many things are kept; the file, where there is one, is whole."""
    found: MendFile | None = read_mend(home / "mending" / "cable.json")
    return len(found.entries) if found is not None else 0
