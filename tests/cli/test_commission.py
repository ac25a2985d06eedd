"""`wiremap commission` as a user runs it: typed, interrupted, gone on with, failed, refused, mended."""

import ast
import json
from collections.abc import Iterator
from pathlib import Path

import pytest

import wiremap
from tests.bench.technician import EMPTY
from tests.cli.running import process, run
from tests.cli.terminals import terminal
from wiremap.bench.commission.steps import steps_of
from wiremap.reading.parts import Tester
from wiremap.records.commissions import (
    Commission,
    Figure,
    Found,
    commission_path,
    going_path,
    read_commission,
    write_commission,
)
from wiremap.tester.measure import FoundTester

MODEL, SERIAL = "BENCH-18", "53494D0100000001"
AT = "2026-03-01T08:30:00Z"
WELL = Figure("result", "", 0.0, 0.0, 0.0)
BAD = Figure("highest of 18", "ohm", 3800.0, 3260.0, 3400.0)
FAILED = Found("drive-ohms", "Each contact to its port pin", "typed", AT, (BAD,), "Look at R1 to R18.")


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give every test a folder of the user's own."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def record(found: tuple[Found, ...] = (FAILED,), over: bool = True) -> Commission:
    """Return the record of the simulator's bench board."""
    return Commission("bench", MODEL, SERIAL, "1.0", True, found, over)


def all_but(name: str) -> tuple[Found, ...]:
    """Return every step of the bench board as found well, but one."""
    return tuple(Found(s.name, s.title, "typed", AT, (WELL,)) for s in steps_of("bench") if s.name != name)


def bench_board(folder: Path, more: str = "") -> str:
    """Return the address of a simulated bench board with empty sockets."""
    path = folder / "bench.toml"
    path.write_text(f'format = 1\nboard = "bench"\n{EMPTY}{more}', encoding="utf-8")
    return f"sim:{path}"


def test_it_is_typed_interrupted_and_gone_on_with(tmp_path: Path) -> None:
    """Without a tester the board is told; what was typed is there the next time, and the end of the input stops it."""
    words = ("commission", "--board", "bench", "--tester", str(tmp_path / "none"), "--json")
    first = process(*words, typed="838\nx\n840\n2200\n")
    assert first.code == 4
    said = first.objects()
    assert [(one["step"], one["figure"]) for one in said[:2]] == [
        ("rail-ohms", "the lower"),
        ("rail-ohms", "the higher"),
    ]
    assert said[2]["trouble"].startswith("'x' is no number")
    assert "the same command goes on" in first.err
    kept = read_commission(going_path("bench"))
    assert kept is not None
    assert [found.step for found in kept.found] == ["rail-ohms"]
    again = process(*words, typed="q\n").objects()
    assert (again[0]["step"], again[-1]["over"]) == ("gate-ohms", False)
    anew = process(*words, "--anew", typed="q\n").objects()
    assert anew[0]["step"] == "rail-ohms"


def test_a_step_beyond_its_limit_is_asked_about_then_fails(tmp_path: Path) -> None:
    """The page says by how much and why, f confirms, and what to do is said; mended, it goes on with that step."""
    words = ("commission", "--board", "bench", "--tester", str(tmp_path / "none"))
    done = process(*words, typed="5170\nf\n")
    assert done.code == 3
    assert "the lower 5.17 kohm, allowed 813 ohm to 863 ohm" in done.out
    assert "The limits are the circuit's:" in done.out
    assert "R56 to R62" in done.out.split("FAILED")[1]
    again = process(*words, typed="838\n838\nq\n")
    assert again.code == 4
    assert "GATE to 3V3" in again.out


def test_a_failed_board_is_refused_until_it_holds(tmp_path: Path) -> None:
    """Failed it measures nothing, commissioned again it does; the record of the failure holds until then."""
    leaking = bench_board(tmp_path, '[[part]]\nreference = "D3"\nleak_na = 1000.0\n')
    write_commission(going_path(MODEL, SERIAL), record(all_but("empty"), over=False))
    failed = process("commission", "--tester", leaking, "--json", typed="\nf\n")
    assert failed.code == 3
    assert failed.objects()[-1]["failed"] == "empty"
    assert not going_path(MODEL, SERIAL).exists()
    refused = run("test", "--tester", leaking, "--expect", "straight")
    assert refused.code == 5
    assert "failed its commissioning" in refused.err
    assert "'Empty sockets': highest voltage" in refused.err
    mended = process("commission", "--tester", bench_board(tmp_path), "--json", typed="\n")
    assert (mended.code, mended.objects()[-1]["verdict"]) == (0, "pass")
    assert run("test", "--tester", bench_board(tmp_path), "--expect", "straight").code == 3  # an empty socket


def test_what_was_typed_before_it_answered_is_the_boards_that_answers(tmp_path: Path) -> None:
    """Begun without a program, gone on with one: the record has the serial number from then on, and fails under it."""
    begun = process("commission", "--board", "bench", "--tester", str(tmp_path / "none"), typed="838\n838\nq\n")
    assert begun.code == 4
    done = process("commission", "--tester", bench_board(tmp_path), typed="2200\n100\nf\n")
    assert done.code == 3
    assert "Going on after 1 of its steps" in done.err
    kept = read_commission(commission_path(MODEL, SERIAL))
    assert kept is not None
    assert [found.step for found in kept.found] == ["rail-ohms", "gate-ohms"]
    assert not list((tmp_path / "home" / "commissioning" / "going").iterdir())
    assert run("test", "--tester", "sim:patch", "--expect", "straight").code == 5


@pytest.mark.parametrize(
    "words",
    [
        ("test", "--tester", "sim:patch", "--expect", "straight"),
        ("calibrate", "--tester", "sim:empty"),
        ("calibrate", "--tester", "sim:patch", "--length", "3", "--kind", "reel"),
        ("watch", "--tester", "sim:patch", "--expect", "straight", "--minutes", "0.01"),
        ("mend", "--tester", "sim:patch", "--expect", "straight"),
        ("batch", "lot", "--tester", "sim:patch", "--expect", "straight", "--count", "1"),
    ],
)
def test_every_command_that_measures_refuses_a_failed_board(words: tuple[str, ...], tmp_path: Path) -> None:
    """With the step, its value, what is allowed, what to look at, and where the record is."""
    write_commission(commission_path(MODEL, SERIAL), record())
    done = process(*words, folder=tmp_path)
    assert done.code in ((5, 4) if words[0] == "mend" else (5,)), done.err
    said = " ".join((done.out + done.err).split())
    assert "highest of 18 3.8 kohm, allowed 3.26 kohm to 3.4 kohm" in said
    assert "Look at R1 to R18." in said
    assert "Near 1" not in said


def test_whoever_uses_a_calibration_refuses_a_failed_board() -> None:
    """Each place of the product that asks what is known of a tester asks first whether it failed."""
    asked = 0
    for path in Path(wiremap.__file__).parent.rglob("*.py"):
        calls = list(_calls(ast.parse(path.read_text(encoding="utf-8"))))
        if path.name != "calibrations.py" and "calibration_of" in calls:
            asked += 1
            assert calls.count("refuse_failed") == calls.count("calibration_of"), path
    assert asked >= 5


def _calls(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            yield node.func.id


def test_an_unproven_board_and_one_without_a_record_are_used() -> None:
    """What was not measured is no refusal."""
    left_out = tuple(Found(step.name, step.title, "not-measured", AT) for step in steps_of("bench"))
    write_commission(commission_path(MODEL, SERIAL), record(left_out))
    assert run("test", "--tester", "sim:patch", "--expect", "straight").code == 0


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("3800", "3300"), "was changed after it was written"),
        (("sha256:", "sha256:0"), "was changed after it was written"),
        (('"format":1', '"format":2'), "format is 2"),
        (('"over"', '"oven"'), "unknown field"),
        (("{", "{ "), "RFC 8785"),
        (('"board":"bench"', '"board":"bread"'), "bread"),
    ],
)
def test_a_record_that_was_edited_is_refused_and_left_as_it_is(change: tuple[str, str], says: str) -> None:
    """Whatever was changed in it: the file, what is wrong, what to do; the file stays."""
    path = commission_path(MODEL, SERIAL)
    write_commission(path, record())
    text = path.read_text(encoding="utf-8").replace(change[0], change[1], 1)
    path.write_text(text, encoding="utf-8")
    done = run("test", "--tester", "sim:patch", "--expect", "straight")
    assert done.code == 6
    assert str(path) in done.err
    assert says in done.err
    assert "wiremap commission" in done.err or "reads format 1" in done.err or "written by wiremap" in done.err
    assert path.read_text(encoding="utf-8") == text


def test_a_record_of_another_tester_is_not_this_ones() -> None:
    """A file that was copied under another name is refused."""
    write_commission(
        commission_path(MODEL, SERIAL), Commission("bench", MODEL, "OTHER", "1.0", found=(FAILED,), over=True)
    )
    done = run("test", "--tester", "sim:patch", "--expect", "straight")
    assert done.code == 6
    assert "is of the tester 'OTHER'" in done.err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--board", "bread"), "--board bread: not known"),
        (("--tester", "no-such-port"), "which board it is was not said"),
        (("--tester", "sim:gauge", "--board", "bare"), "what answers there is bench"),
    ],
)
def test_what_cannot_be_commissioned(words: tuple[str, ...], says: str) -> None:
    """An unknown board, no board at all, the reference design, and another board than was said."""
    done = run("commission", *words)
    assert done.code == 2
    assert says in done.err
    assert "hint: " in done.err


def test_the_reference_design_is_not_commissioned(tmp_path: Path) -> None:
    """It is an idea that nobody builds so."""
    path = tmp_path / "reference.toml"
    path.write_text(f'format = 1\nboard = "reference"\n{EMPTY}', encoding="utf-8")
    done = run("commission", "--tester", f"sim:{path}")
    assert done.code == 2
    assert "no board of those that can be commissioned" in done.err


@pytest.mark.parametrize(
    ("kept", "says"),
    [
        (None, "firmware 1.0\n"),
        (record(), "firmware 1.0, FAILED its commissioning\n"),
        (record(all_but("")), "firmware 1.0, commissioned\n"),
    ],
)
def test_testers_says_how_each_stands(kept: Commission | None, says: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Behind its firmware; nothing where there is no record."""
    there = FoundTester("/dev/ttyACM0", Tester("WIREMAP", MODEL, SERIAL, "1.0"), None)
    monkeypatch.setattr("wiremap.tester.measure.find_testers", lambda: (there,))
    if kept is not None:
        write_commission(commission_path(MODEL, SERIAL), kept)
    assert run("testers").out.endswith(says)
    (tester, _) = run("testers", "--json").objects()
    assert tester["tester"].get("commissioned") == (None if kept is None else kept.judged)


def test_a_bare_board_must_say_whether_it_has_clamps(tmp_path: Path) -> None:
    """The line does not tell, and 57 V must not meet the one without."""
    path = tmp_path / "bare.toml"
    path.write_text(f'format = 1\nboard = "bare"\n{EMPTY}', encoding="utf-8")
    done = run("commission", "--tester", f"sim:{path}")
    assert done.code == 2
    assert "--board bare-clamped" in done.err
    assert process("commission", "--tester", f"sim:{path}", "--board", "bare", typed="q\n").code == 4


@pytest.mark.parametrize("size", [(80, 24), (40, 16)])
def test_in_a_real_terminal(tmp_path: Path, size: tuple[int, int]) -> None:
    """What is typed shows as it is typed and can be wiped out; a slip is said; q stops and says how to go on."""
    with terminal(tmp_path, *size, WIREMAP_HOME=str(tmp_path / "home")) as screen:
        screen.start("commission", "--board", "bench", "--tester", "no-such-port")
        screen.wait_for("Rail to ground, by ohm-meter")
        screen.type("8388")
        screen.press("BSpace")
        screen.wait_for("> 838")
        screen.press("Enter")
        screen.wait_for("The higher (ohm)?")
        screen.type("u")
        screen.press("Enter")
        screen.wait_for("The lower (ohm)?")
        screen.type("8,388")
        screen.press("Enter")
        screen.wait_for("can mean two numbers")
        screen.type("q")
        screen.press("Enter")
        screen.wait_for("ended 4")


def test_the_record_is_canonical_and_says_all(tmp_path: Path) -> None:
    """One line of JSON: board, tester, each figure with its limits, and the digest of it."""
    path = tmp_path / "record.json"
    write_commission(path, record())
    kept = json.loads(path.read_text(encoding="utf-8"))
    assert kept["digest"].startswith("sha256:")
    (found,) = kept["commission"]["found"]
    assert found["figures"] == [{"name": "highest of 18", "unit": "ohm", "amount": 3800, "low": 3260, "high": 3400}]
    assert read_commission(path) == record()
