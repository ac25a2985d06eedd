"""The example captures: sound, judged alike by this version, and one line each."""

from pathlib import Path

import pytest

from tests.cli.running import run

CAPTURES = Path(__file__).resolve().parents[2] / "captures"
FORMER = Path(__file__).resolve().parents[1] / "records" / "captures" / "former"  # of an earlier board and form
FILES = sorted(CAPTURES.glob("*.json"))


def test_there_are_enough_of_every_verdict() -> None:
    """At least eight captures of the refit are shipped, cables that pass and cables that fail among them."""
    assert len(FILES) >= 8
    done = run("judge", *map(str, FILES))
    assert done.code == 3
    assert done.err == ""
    lines = done.out.splitlines()
    assert len(lines) == len(FILES) + 1
    assert {line.split()[0] for line in lines[:-1]} == {"PASS", "FAIL"}
    assert all("SIMULATED" in line for line in lines[:-1])


@pytest.mark.parametrize("folder", [CAPTURES, FORMER])
def test_every_capture_is_sound(folder: Path) -> None:
    """Every example capture, now and of before, has its bytes, and its verdict follows from its reading as it did."""
    done = run("verify", str(folder), "--json")
    assert done.code == 0
    objects = done.objects()
    assert objects[-1]["summary"] == {"sound": len(list(folder.glob("*.json"))), "not_sound": 0, "unreadable": 0}
    for found in objects[:-1]:
        assert found["digest_holds"]
        assert found["verdict"] == found["verdict_again"]
