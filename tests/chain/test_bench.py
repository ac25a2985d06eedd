"""The main job from the simulator's line to the page: each cable of the bench, measured, judged, shown and kept."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import run


@dataclass(frozen=True)
class Bench:
    """One cable on the simulator: how it is tested, and what must be said of it.

    findings: (fault, near, far) of each. says: on the page. marked: near contacts of the lines with a mark.
    """

    cable: str
    words: tuple[str, ...]
    code: int
    findings: tuple[tuple[str, str, str], ...]
    says: str
    marked: str


STRAIGHT = ("--expect", "straight")
BENCHES = (
    Bench(
        "crossover-copied",
        ("--expect", "crossover"),
        3,
        (("crossed-pairs", "1236", "1236"),),
        "The cable is straight: the second plug was made as a copy of the first.",
        "1236",
    ),
    Bench("far-3-6-exchanged", STRAIGHT, 3, (("reversed-pair", "36", "63"),), "Pair 3-6 is reversed", "36"),
    Bench("blue-reversed", STRAIGHT, 3, (("reversed-pair", "45", "54"),), "Pair 4-5 is reversed", "45"),
    Bench(
        "rolled-plug",
        STRAIGHT,
        3,
        (("crossed-pairs", "1278", "8721"), ("reversed-pair", "36", "63"), ("reversed-pair", "45", "54")),
        "Wired as if one plug were turned over",
        "12345678",
    ),
    Bench("split-section", STRAIGHT, 3, (("split-section", "1245", "1245"),), "are split along", "1245"),
    Bench("open-screen", (*STRAIGHT, "--screen", "both"), 3, (("screen-open", "S", "S"),), "The screen is open", "S-"),
    Bench("short-two", STRAIGHT, 3, (("short", "36", "36"),), "Contacts 3 and 6 are shorted together", "36"),
    Bench("short-to-screen", STRAIGHT, 3, (("screen-short", "2S", "2S"),), "Contact 2 is shorted to the screen", "2S"),
    Bench(
        "sensor-m12d",
        ("--expect", "m12d-rj45", "--near-adapter", "m12d-rj45"),
        0,
        (),
        "Every conductor arrives where m12d-rj45 wants it.",
        "",
    ),
    Bench(
        "sensor-quad",
        ("--expect", "m12d-rj45", "--near-adapter", "m12d-rj45", "--screen", "both"),
        0,
        (),
        "Every conductor arrives where m12d-rj45 wants it.",
        "",
    ),
    Bench("sftp", (*STRAIGHT, "--screen", "both", "--kind", "cat7-sftp"), 0, (), "Kind told: cat7-sftp.", ""),
    Bench("slim", (*STRAIGHT, "--kind", "slim-utp"), 0, (), "Kind told: slim-utp.", ""),
    Bench(
        "sensor-m12d-in-sequence",
        ("--expect", "m12d-rj45", "--near-adapter", "m12d-rj45"),
        3,
        (("miswire", "23", "23"),),
        "Wired as if one plug was filled pair after pair",
        "23",
    ),
    Bench(
        "device-bus",
        ("--expect", "m12a-5pole", "--near-adapter", "m12a-rj45", "--far-adapter", "m12a-rj45"),
        0,
        (),
        "Every conductor arrives where m12a-5pole wants it.",
        "",
    ),
)


def continuity(found: dict[str, Any]) -> list[tuple[str, str, str]]:
    """Return the findings of an object that say which contact reaches which."""
    return [(one["fault"], "".join(one["near"]), "".join(one["far"])) for one in found["findings"]]


@pytest.mark.parametrize("bench", BENCHES, ids=lambda bench: f"{bench.cable} {' '.join(bench.words[2:])}".strip())
def test_from_the_line_to_the_page(tmp_path: Path, bench: Bench) -> None:
    """The right findings come through the chain, on the page, in the exit code and the capture; no screen unasked."""
    kept = tmp_path / "cable.json"
    words = ("test", "--tester", f"sim:{bench.cable}", *bench.words, "--save", str(kept))
    shown = run(*words, "--job", "near=helm", "--job", "far=mast", "--job", "cable=bench")
    assert shown.code == bench.code
    lines = shown.out.splitlines()
    verdict = next(number for number, line in enumerate(lines) if line.startswith(("PASS", "FAIL")))
    assert lines[verdict].startswith({0: "PASS", 3: "FAIL"}[bench.code])
    assert verdict == 0 or lines[0].startswith("DO NOT CONNECT")
    assert bench.says in " ".join(lines)
    assert "".join(line.split()[1] for line in lines if line.startswith("!")) == bench.marked
    page, _, where = shown.out.partition("Kept: ")
    assert where.replace("\n", "") == str(kept)
    (found,) = run("judge", str(kept), "--json").objects()
    assert found["verdict"] == {0: "pass", 3: "fail"}[bench.code]
    assert sorted(continuity(found)) == sorted(bench.findings)
    assert run("judge", str(kept)).out.startswith(page)
    if "open-screen" in bench.cable:
        not_asked = run("judge", str(kept), "--screen", "any")
        assert not_asked.code == 0
        assert "not checked: screen" in not_asked.out


def test_voltage_on_the_cable_stops_everything() -> None:
    """A passive injector at the far end: nothing is driven, the verdict is undecided, the contacts are named."""
    shown = run("test", "--tester", "sim:injector-48v", "--expect", "straight")
    assert shown.code == 4
    said = " ".join(shown.out.split())
    assert re.search(r"There is voltage on near 4 and 5 \(4 V or more\); nothing was driven into the cable", said)
    assert "Power off and unplug both ends" in said
    assert " ok" not in shown.out


def test_a_capture_that_cannot_be_kept(tmp_path: Path) -> None:
    """Where the capture cannot be written that is said before anything is measured, and nothing is touched."""
    there = tmp_path / "there.json"
    there.write_text("mine", encoding="utf-8")
    shown = run("test", "--tester", "sim:patch", "--expect", "straight", "--save", str(there))
    assert (shown.code, shown.out) == (6, "")
    assert "is there already" in shown.err
    assert there.read_text(encoding="utf-8") == "mine"
    assert list(tmp_path.iterdir()) == [there]


def test_testers_that_are_not_there() -> None:
    """An address where no tester is exits 5, with what to do; --json gives the same as an object."""
    for address in ("/dev/ttyNONE", "socket://127.0.0.1:9", "sim:no-such-cable"):
        shown = run("test", "--tester", address, "--expect", "straight")
        assert (shown.code, shown.out) == (5, "")
        assert "\n\nhint: " in shown.err
        (found,) = run("test", "--tester", address, "--json").objects()
        assert found["error"]["kind"] == "tester"


def test_wrong_use_is_met_before_anything_is_measured() -> None:
    """Wrong options exit 2 without opening the tester."""
    for words in (("--far", "nowhere"), ("--near-adapter", "m99"), ("--screen", "x"), ("--job", "x")):
        shown = run("test", "--tester", "/dev/ttyNONE", *words)
        assert (shown.code, shown.out) == (2, "")
