"""The example captures: sound, judged alike by this version, and one line each."""

from pathlib import Path

from tests.cli.running import run

CAPTURES = Path(__file__).resolve().parents[2] / "captures"
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


def test_every_capture_is_sound() -> None:
    """Every example capture has its bytes, and its verdict follows from its reading in this version too."""
    done = run("verify", str(CAPTURES), "--json")
    assert done.code == 0
    objects = done.objects()
    assert objects[-1]["summary"] == {"sound": len(FILES), "not_sound": 0, "unreadable": 0}
    for found in objects[:-1]:
        assert found["digest_holds"]
        assert found["verdict"] == found["verdict_again"]
