"""`wiremap mend` as a user runs it: begun, answered, interrupted, gone on with, kept before and after."""

import inspect
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.mend_kills import killed, write_sound, write_table
from tests.cli.running import Ran
from tests.cli.terminals import terminal
from wiremap.bench.moving.moved import MOVED_S
from wiremap.cli.commands import mend
from wiremap.records.captures.capture import read_capture
from wiremap.records.mend_file import mend_path, read_mend

EXCHANGED = ("--tester", "sim:far-3-6-exchanged", "--expect", "straight")


def run(*words: str, typed: bytes = b"") -> Ran:
    """Run the command as a process of its own; typed: what stands on its standard input."""
    done = subprocess.run(
        [sys.executable, "-m", "wiremap", *words],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "COLUMNS": "80", "LINES": "24"},
        input=typed,
        capture_output=True,
        timeout=120,
        check=False,
    )
    return Ran(done.returncode, done.stdout.decode(), done.stderr.decode())


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give every test a folder of the user's own."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def test_a_repair_from_first_test_to_proof_keeps_before_and_after(tmp_path: Path) -> None:
    """Interrupted at the card it goes on there; the record in the end follows that of the cable as it was found."""
    kept = tmp_path / "kept"
    kept.mkdir()
    words = ("--job", "cable=mast", "--save", str(kept), "--key", "none")
    first = run("mend", *EXCHANGED, *words, typed=b"31")
    assert first.code == 3
    assert "Re-terminate the far end as T568B (contacts 3 and 6 change)." in first.out
    again = run("mend", *words, "--tester", "sim:patch", typed=b"w1 n")
    assert again.code == 0, again.err
    captures = sorted(kept.iterdir(), key=lambda path: path.stat().st_mtime_ns)
    before, after = (read_capture(path.read_bytes(), path.name) for path in captures)
    assert (before.record.diagnosis["verdict"], after.record.diagnosis["verdict"]) == ("fail", "pass")
    assert after.record.follows == before.digest
    assert after.record.job.re_terminated == "far"
    assert after.record.job.note.startswith("colour near 3: white-green; ")
    assert [item.done for item in after.record.work][:2] == [True, False]
    found = read_mend(mend_path("mast"))
    assert found is not None
    assert found.over


def test_what_cannot_be_judged_is_not_kept(home: Path) -> None:
    """A table that is no such cable's is refused, and the next repair is not held up by it."""
    done = run("mend", "--expect", "no-such-pattern", "--tester", "sim:patch")
    assert done.code == 2
    assert not (home / "mending").exists()


def test_by_eye_it_ends_with_what_is_still_to_be_measured() -> None:
    """From colours alone: the card of the wrong plug; made, it looks right and is to be measured."""
    right = "1=white-orange,2=orange,3=white-green,4=blue,5=white-blue,6=green,7=white-brown,8=brown"
    wrong = right.replace("3=white-green", "3=green").replace("6=green", "6=white-green")
    seen = run("mend", "--expect", "straight", "--near-colours", right, "--far-colours", wrong, typed=b" ")
    assert "COLOURS RIGHT, NOT MEASURED" in seen.out
    assert "Re-terminate the far end as T568B (contacts 3 and 6 change)" in seen.out


def test_json_has_a_line_a_step_and_the_cable_at_last(tmp_path: Path) -> None:
    """Every step says what is asked and which key answers what; the last line has verdict and what was said."""
    write_table(tmp_path)
    done = run(
        "mend", str(tmp_path / "table.csv"), "--cells", "continuity", "--expect", "straight", "--json", typed=b"0"
    )
    steps = [json.loads(line) for line in done.out.splitlines()]
    assert steps[0]["step"] == "ask"
    assert steps[0]["choices"]["0"] == "?"
    assert steps[-1]["verdict"] == "fail"
    assert steps[-1]["over"] is False
    assert steps[-1]["said"] == ["colour near 3: ?"]


@pytest.mark.parametrize("seed", range(5))
def test_a_kill_loses_nothing_that_was_acknowledged(tmp_path: Path, seed: int) -> None:
    """Killed at some moment, twice, the repair has all that a page was shown for, is whole, and goes on where it was.

    Every other one has a tester, which measures meanwhile, and keeps captures.
    """
    write_table(tmp_path)
    killed(tmp_path, seed, "sim:far-3-6-exchanged" if seed % 2 else "")


@pytest.mark.parametrize("size", [(80, 24), (40, 16)])
def test_in_a_real_terminal_one_key_answers(tmp_path: Path, size: tuple[int, int]) -> None:
    """A key without Enter answers, the next page takes the place of the one before, q stops and says how to go on."""
    write_table(tmp_path)
    with terminal(tmp_path, *size, WIREMAP_HOME=str(tmp_path / "home")) as screen:
        screen.start("mend", str(tmp_path / "table.csv"), "--cells", "continuity", "--expect", "straight")
        screen.wait_for("contact 3 of the near")
        screen.press("3")
        screen.wait_for("Can you get at the far plug?")
        screen.press("u")
        screen.wait_for("contact 3 of the near")
        screen.press("q")
        screen.wait_for("ended 3")


@pytest.mark.parametrize(("cable", "code"), [("patch", 0), ("intermittent", 3)])
def test_what_comes_and_goes_while_it_is_moved_is_in_the_record_and_no_pass(
    tmp_path: Path, cable: str, code: int
) -> None:
    """Watched while it is moved, a sound cable passes and its record says so; one that opens now and then does not."""
    write_sound(tmp_path)
    (tmp_path / "kept").mkdir()
    begin = ("mend", str(tmp_path / "sound.csv"), "--cells", "continuity", "--tester", f"sim:{cable}")
    words = ("--expect", "straight", "--minutes", "0.06", "--save", str(tmp_path / "kept"), "--key", "none")
    done = run(*begin, *words, typed=b" ")
    assert done.code == code, done.err
    flat = " ".join(done.out.split())
    assert "Keep both plugs still: it is measured at rest first." in flat
    if cable == "patch":
        assert flat.endswith("Watched for 4 s: nothing came and went.")
        (kept,) = (tmp_path / "kept").iterdir()
        note = read_capture(kept.read_bytes(), kept.name).record.job.note
        assert note == "moved: watched for 4 s: nothing came and went"
    else:
        assert "near 7 - far 7 came and went" in flat
        assert "It passes at rest" in flat
        assert "Label it and use it" not in flat


def test_a_repair_that_waits_can_be_left_at_its_first_page(tmp_path: Path) -> None:
    """Asked whether an unfinished repair goes on, q stops, and the repair stays as it was."""
    write_table(tmp_path)
    words = ("mend", str(tmp_path / "table.csv"), "--cells", "continuity", "--expect", "straight")
    assert run(*words).code == 3
    kept = mend_path("").read_bytes()
    with terminal(tmp_path, 80, 24, WIREMAP_HOME=str(tmp_path / "home")) as screen:
        screen.start(*words)
        screen.wait_for("q: stop.")
        screen.press("q")
        screen.wait_for("ended 4")
    assert mend_path("").read_bytes() == kept


def test_by_eye_colours_are_asked_for_one_by_one(home: Path) -> None:
    """Without a tester: the first look, then the next; stopped, the same command goes on without being told again."""
    seen = run("mend", "--by-eye", "--expect", "straight", typed=b"6")
    assert seen.out.count("Which colour is at contact") == 2
    assert "near plug" in seen.out
    assert (home / "mending").exists()
    again = run("mend", typed=b"")
    assert again.out.split("\n\n")[1] == seen.out.split("\n\n")[-2]
    assert "no tester" not in again.err


def test_joints_and_leads_are_tried_before_a_plug_is_made() -> None:
    """Another lead first, then the near plug, then the joint; what was tested alone is in the repair and its words."""
    words = ("--tester", "sim:high-resistance", "--expect", "straight", "--joint", "deck plug=2m", "--json")
    seen = run("mend", *words, "--lead", "near", typed=b"n1 q")
    pages = [json.loads(line) for line in seen.out.splitlines()]
    now = [page["now"] for page in pages]
    assert now[1].startswith("Put another lead, known to be good, between the tester and the near socket")
    assert now[2].startswith("Look into the near socket for contact 2 dirty or badly crimped")
    assert now[3].startswith("Open the joint deck plug.")
    assert pages[-1]["said"] == ["lead near: not-now", "in-plug near 2: well", "tested alone: piece up to deck plug"]
    assert run("mend", *words, "--lead", "mast").code == 2
    kept = read_mend(mend_path(""))
    assert kept is not None
    assert kept.options["leads"] == ("near",)


def test_a_moved_cable_is_watched_for_as_long_as_it_says() -> None:
    """Fifteen seconds where nobody says otherwise, as README and the phone have it."""
    (default,) = [one for one in inspect.signature(mend.command).parameters.values() if one.name == "minutes"]
    assert default.default * 60 == MOVED_S == 15.0
