"""What the builder's documents say of commissioning is what the steps ask; what is done by hand does what it says."""

import re
from pathlib import Path

import pytest

from firmware_sim.launcher import PACKAGE
from tests.bench.commission_checks import UNSEEN
from tests.bench.technician import GAUGE, RESISTORS
from tests.firmware_sim.bench_boards import bench_tables
from tests.firmware_sim.processes import run_program
from wiremap.bench.commission.steps import steps_of
from wiremap.records.commissions import BoardKind, limits_said

MANUAL = (PACKAGE / "README.md").read_text(encoding="utf-8")
BARE = (PACKAGE / "BARE.md").read_text(encoding="utf-8")
BENCH = MANUAL[MANUAL.index("### Commissioning: what") :]


def rows(board: BoardKind) -> list[str]:
    """Return the steps as rows of a table: number, title, who measures, what is allowed."""
    found = []
    for number, step in enumerate(steps_of(board), 1):
        limits = [limits_said(figure.found(0.0)) for figure in step.figures]
        names = [f"{figure.name} {limit}" for figure, limit in zip(step.figures, limits, strict=True)]
        allowed = limits[0] if len(set(limits)) == 1 else "; ".join(names)
        found.append(f"| {number} | {step.title} | {'tester' if step.probe else 'meter'} | {allowed} |")
    return found


@pytest.mark.parametrize(("board", "text"), [("bench", BENCH), ("bare-clamped", BARE)])
def test_the_steps_are_those_that_are_asked(board: BoardKind, text: str) -> None:
    """Each step with its limits, in order, and none besides."""
    table = text[text.index("| | step | by | allowed |") :].split("\n\n")[0]
    written = re.findall(r"^\| \d+ \| .*\|$", table, re.MULTILINE)
    assert written == rows(board)


def test_cautions_come_before_commands() -> None:
    """Current limit, isolation, mains and 57 V are spoken of before the steps; the command stands first of all."""
    cautions = BENCH[: BENCH.index("| | step |")]
    for word in (
        "wiremap commission --board bench",
        "current limit of 50 mA",
        "Never mains",
        "runs on its own battery",
    ):
        assert word in " ".join(cautions.split()), word
    assert "wiremap commission --board bare-clamped" in BARE
    assert BARE.index("## Cautions") < BARE.index("## Shopping list") < BARE.index("## Commissioning")


def test_the_gauge_is_the_simulators() -> None:
    """The parts of the table are those of the steps and of the cable `gauge` that comes with the simulator."""
    assert "| 1 | wire |" in BENCH
    assert "| 2, 3, 4 | 0.1 ohm, 1 ohm, 10 ohm |" in BENCH
    assert "| 5, 6 | 51 kohm, 1 Mohm |" in BENCH
    assert "| 7, 8, S | 10 pF, 100 pF, 1 nF, all C0G |" in BENCH
    names = [figure.name for step in steps_of("bench") if step.name.startswith("known-") for figure in step.figures]
    assert names == ["wire", "0.1 ohm", "1 ohm", "10 ohm", "51 kohm", "1 Mohm", "10 pF", "100 pF", "1 nF"]
    shipped = (PACKAGE / "cables" / "gauge.toml").read_text(encoding="utf-8")
    wanted = [("ohm", 0.1), ("ohm", 1.0), ("ohm", 10.0), ("ohm", 51e3), ("ohm", 1e6), ("pf", 10.0), ("pf", 100.0)]
    for text in (shipped, GAUGE):
        found = [(key, float(value)) for key, value in re.findall(r"^(ohm|pf) = ([\d.]+)$", text, re.MULTILINE)]
        assert found == [*wanted, ("pf", 1000.0)]
        assert re.findall(r'conductors = \["([\w-]+)"\]', text)[:5] == list(RESISTORS[1:])


def test_what_is_not_seen_is_said() -> None:
    """The parts that may be 5 % up unseen are those that the long check lets pass."""
    said = " ".join(BENCH.split()).split("Not seen are ")[1].split(" do no harm")[0]
    assert said == "one of C1 and C3 alone 5 % up, C2 or C4 5 % up, R60, R61, a network or R41 5 % up, all of which"
    named = {"C1", "C2", "C3", "C4", "R41", "R60", "R61", "RN1", "RN2", "RN3"}
    assert set(UNSEEN) == {(name, 1.05) for name in named}


def test_by_hand_the_low_level_stands_as_it_says(tmp_path: Path) -> None:
    """The lines typed at the prompt, run by the firmware's own modules on the simulated board, show 13 to 14 mV."""
    lines = re.search(r"```python\n(import pins\n.*?)```", BENCH, re.DOTALL)
    assert lines is not None
    shown = "from firmware_sim.board.power import board\nboard.advance(3000)\nvolts = board.nodes.volts()\n"
    shown += "print('millivolts', (volts[0] - volts[9]) * 1000)\n"
    done = run_program(tmp_path, lines[1] + shown, bench_tables(attached={"far": "open"}))
    assert done.returncode == 0, done.stderr
    found = re.search(r"millivolts ([\d.]+)", done.stdout)
    assert found is not None
    assert 13 < float(found[1]) < 14
    (figure,) = next(step for step in steps_of("bench") if step.name == "low-level").figures
    assert figure.found(float(found[1])).holds
    assert "`pins.release()` ends it" in BENCH
