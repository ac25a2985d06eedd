"""Pages in a real terminal of 80 x 24, as a technician sees them."""

import os
import shlex
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.strategies import cable, joined, plugs, reading_of
from wiremap.cable.patterns import pattern
from wiremap.reading import to_json
from wiremap.report.big_letters import big

TMUX = shutil.which("tmux")
Show = Callable[[str, str], tuple[str, str]]


@pytest.fixture
def show(tmp_path: Path) -> Iterator[Show]:
    """Give a function that types a command into a terminal and returns its screen, plain and with colours."""
    if TMUX is None:
        pytest.skip("tmux is not installed")
    socket, ended = tmp_path / "tmux", tmp_path / "ended"

    def tmux(*words: str) -> str:
        command = [str(TMUX), "-S", str(socket), "-f", os.devnull, *words]
        return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=True).stdout

    def shown(command: str, before: str) -> tuple[str, str]:
        environment = {"PYTHONPATH": os.pathsep.join(sys.path), "LC_ALL": "C.UTF-8"}
        settings = [f"-e{name}={value}" for name, value in environment.items()]
        tmux("new-session", "-d", "-x", "80", "-y", "24", *settings, "bash --norc --noprofile")
        program = f"{before} {shlex.quote(sys.executable)} -m wiremap {command}"
        tmux("send-keys", f"clear; {program}; echo $? > {ended}", "Enter")
        for _ in range(300):
            if ended.is_file() and ended.read_text(encoding="utf-8").strip():
                break
            time.sleep(0.1)
        assert ended.read_text(encoding="utf-8") == "3\n"
        time.sleep(0.2)  # the prompt comes back
        return tmux("capture-pane", "-p"), tmux("capture-pane", "-p", "-e")

    yield shown
    subprocess.run([TMUX, "-S", str(socket), "kill-server"], capture_output=True, check=False)


def reading_file(folder: Path, *groups: str, arrives: dict[int, int] | None = None) -> str:
    """Write the reading of a cable between RJ45 plugs and return its name."""
    expect = pattern("straight")
    nets = joined(cable(expect, arrives or {n: n for n in range(1, 9)}), *groups)
    file = folder / "reading.json"
    file.write_bytes(to_json(reading_of(nets, plugs(expect))))
    return str(file)


def test_the_whole_page_stays_on_the_screen(show: Show, tmp_path: Path) -> None:
    """The verdict in large letters, the fault, the next step and every conductor stay visible above the prompt."""
    file = reading_file(tmp_path, "near 4, far 5", arrives={1: 3, 2: 6, 3: 1, 4: 4, 5: 8, 6: 2, 7: 7})
    plain, coloured = show(f"judge {file} --expect straight --screen both --job near=helm --job far=mast", "")
    rows = plain.splitlines()
    top = next(number for number, row in enumerate(rows) if row.strip().startswith(big("FAIL")[0].strip()))
    for number, letters in enumerate(big("FAIL")):
        assert letters.strip() in rows[top + number]
    assert any(row.startswith("Next: ") for row in rows)
    assert sum(row.startswith(("! ", "  ")) and "    " in row for row in rows) >= 9
    assert "\x1b[1m" in coloured
    assert "41m" in coloured


@pytest.mark.parametrize("before", ["NO_COLOR=1", "TERM=dumb"])
def test_clear_without_colour(show: Show, tmp_path: Path, before: str) -> None:
    """With NO_COLOR, or on a terminal without colours, nothing is lost but the colours."""
    file = reading_file(tmp_path, arrives={1: 1, 2: 2, 3: 6, 4: 4, 5: 5, 6: 3, 7: 7, 8: 8})
    plain, coloured = show(f"judge {file} --expect straight", before)
    assert "\x1b[" not in coloured
    assert "Pair 3-6 is reversed." in plain
    assert "! " in plain
