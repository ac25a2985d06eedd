"""Pages in a real terminal of 80 x 24, as a technician sees them."""

import time
from pathlib import Path

import pytest

from tests.cli.terminals import PATIENCE_S, terminal
from tests.reading.as_json import to_json
from tests.strategies import cable, joined, plugs, reading_of
from wiremap.cable.patterns import pattern
from wiremap.report.terminal.big_letters import big


def shown(folder: Path, *words: str, before: str = "") -> tuple[list[str], str]:
    """Run a command that must end with 3 and return the screen, plain and with colours, the prompt below it."""
    ended = folder / "ended"
    with terminal(folder, 80, 24) as screen:
        screen.start(*words, before=before, end=f"echo $? > {ended}")
        until_s = time.monotonic() + PATIENCE_S
        while not (ended.is_file() and ended.read_text(encoding="utf-8")) and time.monotonic() < until_s:
            time.sleep(0.1)
        assert ended.read_text(encoding="utf-8") == "3\n"
        time.sleep(0.2)  # the prompt comes back
        return screen.screen(), screen.coloured()


def reading_file(folder: Path, *groups: str, arrives: dict[int, int] | None = None) -> str:
    """Write the reading of a cable between RJ45 plugs and return its name."""
    expect = pattern("straight")
    nets = joined(cable(expect, arrives or {n: n for n in range(1, 9)}), *groups)
    file = folder / "reading.json"
    file.write_bytes(to_json(reading_of(nets, plugs(expect))))
    return str(file)


def test_the_whole_page_stays_on_the_screen(tmp_path: Path) -> None:
    """The verdict in large letters, the fault, the next step and every conductor stay visible above the prompt."""
    file = reading_file(tmp_path, "near 4, far 5", arrives={1: 3, 2: 6, 3: 1, 4: 4, 5: 8, 6: 2, 7: 7})
    more = ("--screen", "both", "--job", "near=helm", "--job", "far=mast")
    rows, coloured = shown(tmp_path, "judge", file, "--expect", "straight", *more)
    top = next(number for number, row in enumerate(rows) if row.strip().startswith(big("FAIL")[0].strip()))
    for number, letters in enumerate(big("FAIL")):
        assert letters.strip() in rows[top + number]
    assert any(row.startswith("Next: ") for row in rows)
    assert sum(row.startswith(("! ", "  ")) and "    " in row for row in rows) >= 9
    assert "\x1b[1m" in coloured
    assert "41m" in coloured


@pytest.mark.parametrize("before", ["NO_COLOR=1", "TERM=dumb"])
def test_clear_without_colour(tmp_path: Path, before: str) -> None:
    """With NO_COLOR, or on a terminal without colours, nothing is lost but the colours."""
    file = reading_file(tmp_path, arrives={1: 1, 2: 2, 3: 6, 4: 4, 5: 5, 6: 3, 7: 7, 8: 8})
    rows, coloured = shown(tmp_path, "judge", file, "--expect", "straight", before=before)
    assert "\x1b[" not in coloured
    assert "Pair 3-6 is reversed." in rows
    assert sum(row.startswith("! ") for row in rows) == 2
