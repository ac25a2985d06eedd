"""Commands killed or refused room at counted steps, a few times each; `python -m tests.long kills` does it often."""

from pathlib import Path

import pytest

from tests.kills.commands import COMMANDS
from tests.kills.lots import batches
from tests.kills.steps import Fate, How, library, run

PLACES = {**COMMANDS, "batches": batches}
KILLS = {"saves": 2, "calibrations": 2, "rebuilds": 4, "closes": 4, "batches": 6}


@pytest.fixture(autouse=True)
def counted() -> None:
    """Skip where steps cannot be counted."""
    library()


@pytest.mark.parametrize("name", sorted(PLACES))
def test_a_command_that_is_killed_loses_nothing_it_said(tmp_path: Path, name: str) -> None:
    """Killed before, in and after its writes, and at any moment: nothing reported is lost, nothing half is there."""
    assert "steps" in PLACES[name](tmp_path, 1, KILLS[name], True)


@pytest.mark.parametrize("name", sorted(PLACES))
def test_a_disk_without_room_spoils_nothing(tmp_path: Path, name: str) -> None:
    """A disk that is full from some step on, or fails once: said, nothing that was there harmed, the next one goes."""
    assert "steps" in PLACES[name](tmp_path, 2, 1, False)


def test_steps_are_counted_and_met(tmp_path: Path) -> None:
    """What one new file takes: made, written, on the disk, named, its first name gone, folder on the disk; met each."""
    program = (
        "import sys, pathlib\n"
        "from wiremap.records.new_file import write_new\n"
        "write_new(pathlib.Path(sys.argv[1]), b'0123456789')"
    )
    target = tmp_path / "disk" / "a"
    assert run(tmp_path / "disk", None, str(target), program=program).steps == "owslus"
    target.unlink()
    deaths: tuple[tuple[int, How, str, int], ...] = (
        (1, "before", "", 0),
        (2, "half", ".part", 5),
        (3, "before", ".part", 10),
        (4, "after", "a", 10),
        (6, "after", "a", 10),
    )
    for at, how, name, size in deaths:
        ended = run(tmp_path / "disk", Fate(at, how), str(target), program=program)
        assert (ended.code, len(ended.steps)) == (-9, at)
        there = {path.name: path.stat().st_size for path in (tmp_path / "disk").iterdir() if path.is_file()}
        assert [size] * bool(name) == [found for path, found in there.items() if path.endswith(name)] * bool(name)
        for path in (tmp_path / "disk").iterdir():
            if path.is_file():
                path.unlink()
    full = run(tmp_path / "disk", Fate(2, "full"), str(target), program=program)
    assert "No space left" in full.err
    assert full.steps.startswith("oww")
    assert full.steps.endswith("u")
