"""Answers of a tester that are whole, have the right check value and cannot be: exit code 5, and nothing is kept."""

from pathlib import Path

import pytest

from tests.cli.running import run
from tests.tester.peers import Dialogue, Reply, introduction, on_pty, sound, triangle
from tests.tester.test_measure import CAPACITANCE, LOW, RESISTANCE, wide_introduction
from wiremap.tester import line

SCAN = "MEASure:ARRay:RESistance?"
OPENS = triangle({(0, 2): 150, (1, 3): 150}, 4)
MEASURED = (RESISTANCE, sound("OK", 4, *OPENS))
EVERYTHING = ("RES", "LOW", "CAP", "GROUP", "ECHO", "TRACE")


def twice(asked: str, *fields: object) -> Dialogue:
    """Return a question that is asked again, and answered the same."""
    return [(asked, sound("OK", *fields))] * 2


def scanned(*values: object, count: object = 4) -> Dialogue:
    """Return the dialogue with a tester whose scan says so, twice."""
    return [*introduction(), *twice(RESISTANCE, count, *values)]


def pair(*fields: object) -> tuple[str, Reply]:
    """Return the capacitances of two contacts each, with these fields after the number of contacts."""
    return (CAPACITANCE + ",PAIR,8", sound("OK", 4, *fields))


def beside(*more: tuple[str, Reply], features: tuple[str, ...]) -> Dialogue:
    """Return the dialogue with a tester whose scan is sound, and what it is asked then."""
    return [*introduction(features), MEASURED, *more]


def echoed(*fields: object) -> Dialogue:
    """Return the dialogue with a tester of the usual plug whose first echo says so."""
    asked = ("MEASure:ECHO? {tag},1,2,50,64", sound("OK", *fields))
    scan = (RESISTANCE, sound("OK", 18, *triangle({}, 18)))
    return [*wide_introduction(("RES", "ECHO")), scan, asked]


def traced(*fields: object) -> Dialogue:
    """Return the dialogue with a tester of the usual plug whose first trace says so."""
    asked = ("MEASure:TRACe? {tag},1,2", sound("OK", *fields))
    scan = (RESISTANCE, sound("OK", 18, *triangle({}, 18)))
    return [*wide_introduction(("RES", "TRACE")), scan, asked]


ECHO, TRACE, PAIRS = "MEASure:ECHO?", "MEASure:TRACe?", "MEASure:ARRay:CAPacitance?"
OF_PAIR = triangle({(0, 1): 48_500}, 4, 0)
# What is wrong, what the tester says, the question that must be named, and the value.
ABSURD: dict[str, tuple[Dialogue, str, str]] = {
    "1e30 ohm": (scanned(*triangle({(0, 2): "1E30"}, 4)), SCAN, "1E30"),
    "more ohm than digits": (scanned(*triangle({(0, 2): "9" * 16}, 4)), SCAN, "9" * 16),
    "ohms below nothing": (scanned(*triangle({(0, 2): -150}, 4)), SCAN, "-150"),
    "no number": (scanned(*triangle({(0, 2): "NAN"}, 4)), SCAN, "NAN"),
    "infinite": (scanned(*triangle({(0, 2): "INF"}, 4)), SCAN, "INF"),
    "too few": (scanned(*OPENS[:-1]), SCAN, "it ends after 6 fields"),
    "too many": (scanned(*OPENS, 1), SCAN, "1 fields are left over"),
    "another plug": (scanned(*triangle({}, 6), count=6), SCAN, "6 contacts, and has 4"),
    "no contacts": (scanned(count=0), SCAN, "field 1 is 0"),
    "a joint that is none": (
        scanned(*triangle({(0, 2): 150, (1, 2): 150, (1, 3): 150}, 4)), SCAN, "far 1 and far 2 are both",
    ),
    "a net of two minds": (scanned(*triangle({(0, 2): 150, (0, 1): 150, (1, 2): 10**9}, 4)), SCAN, "1e+06 ohm"),
    "words of two minds": (
        [*introduction(("CONT",)), *twice("MEASure:ARRay:CONTinuity? {tag}", 4, 1, 1, 0, 0, 0, 0)],
        "MEASure:ARRay:CONTinuity?", "it is open",
    ),
    "a word that is none": (
        [*introduction(("CONT",)), *twice("MEASure:ARRay:CONTinuity? {tag}", 4, 1, 2, 0, 0, 0, 0)],
        "MEASure:ARRay:CONTinuity?", "field 3 is 2",
    ),
    "a voltage at no contact": (
        [*introduction(), *[(RESISTANCE, sound("FOREIGN", 1, 60, 12_000, "DC"))] * 2], SCAN, "of 4",
    ),
    "a megavolt": (
        [*introduction(), *[(RESISTANCE, sound("FOREIGN", 1, 1, 10**9, "DC"))] * 2], SCAN, "1000000000",
    ),
    "low ohms below nothing": (
        beside(*twice(LOW, 4, *triangle({(0, 2): -1}, 4)), features=("RES", "LOW")), "RESistance:LOW?", "is -1",
    ),
    "less than no farad": (
        beside(pair(1, 8, 10_000, 300, *triangle({(0, 1): -(10**12)}, 4, 0)), features=("RES", "CAP")),
        PAIRS, "-1000000000.0",
    ),
    "a farad": (
        beside(pair(1, 8, 10_000, 300, *triangle({(0, 1): 10**14}, 4, 0)), features=("RES", "CAP")),
        PAIRS, "100000000000.0",
    ),
    "a pin of a farad": (beside(pair(1, 8, 10**14, 300, *OF_PAIR), features=("RES", "CAP")), PAIRS, "pin_pf"),
    "noise of a farad": (beside(pair(1, 8, 10_000, 10**14, *OF_PAIR), features=("RES", "CAP")), PAIRS, "sd_pf"),
    "measured no time": (
        beside(*[pair(1, 0, 10_000, 300, *OF_PAIR)] * 2, features=("RES", "CAP")), PAIRS, "field 3 is 0",
    ),
    "a tick of no time": ([*echoed(0, 120, 50, 1, 1, 12), echoed(0, 120, 50, 1, 1, 12)[-1]], ECHO, "field 1 is 0"),
    "a tick of a second": (echoed(10**12, 120, 50, 1, 1, 12), ECHO, "tick_ps"),
    "a launch before all": (echoed(8000, -(10**14), 50, 1, 1, 12), ECHO, "launch_ps"),
    "an echo after a year": (echoed(8000, 120, 50, 1, 1, 10**14), ECHO, "ticks"),
    "more ticks than come": (
        [*echoed(8000, 120, 50, 1, 64, 12), echoed(8000, 120, 50, 1, 64, 12)[-1]], ECHO, "it ends after",
    ),
    "a trace of megavolts": (traced(-500, 250, 2, 10**14, -10), TRACE, "microvolts"),
    "a trace of no step": ([*traced(-500, 0, 2, 10, -10), traced(-500, 0, 2, 10, -10)[-1]], TRACE, "field 2 is 0"),
    "a step of no ohm": (
        [*introduction()[:3], *twice("TESTer:RESolution? {tag}", 0)], "TESTer:RESolution?", "field 1 is 0",
    ),
    "two contacts alike": (
        [*introduction()[:2], *twice("TESTer:CONTacts? {tag}", 2, 1, '"1"', '"1"', '"1"')],
        "TESTer:CONTacts?", "stands twice",
    ),
    "a thousand contacts": (
        [*introduction()[:2], *twice("TESTer:CONTacts? {tag}", 1000, 0)], "TESTer:CONTacts?", "field 1 is 1000",
    ),
    "two hundred features": (
        [introduction()[0], ("TESTer:FEATures? {tag}", sound("OK", "RES", *["AB"] * 200))],
        "TESTer:FEATures?", "201 words",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", ABSURD)
def test_what_cannot_be_is_said_and_not_kept(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The question and the value are named, no verdict is said, no capture and no reading is kept."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    monkeypatch.setattr(line, "STALL_S", 0.2)
    monkeypatch.setattr(line, "QUIET_S", 0.02)
    monkeypatch.setattr(line, "SETTLE_S", 0.05)
    (tmp_path / "kept").mkdir()
    dialogue, question, value = ABSURD[name]
    with on_pty(dialogue) as address:
        ran = run("test", "--tester", address, "--save", str(tmp_path / "kept"))
    assert ran.code == 5, ran
    assert question in ran.err, ran.err
    assert value in ran.err, ran.err
    assert "hint: " in ran.err
    assert ran.out == ""
    assert not list((tmp_path / "kept").iterdir())
    assert not (tmp_path / "home" / "broken").exists()
