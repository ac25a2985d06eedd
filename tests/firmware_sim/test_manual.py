"""firmware_sim/README.md is the reference for every command, pin and part: it must say what the files say."""

import ast
import re

import pytest

from firmware_sim.board import parts
from firmware_sim.launcher import PACKAGE, main

MANUAL = (PACKAGE / "README.md").read_text(encoding="utf-8")
FILES = ("commands.py", "queries.py", "watch.py", "bare/queries.py", "bench/queries.py")
COMMANDS = "".join((PACKAGE / "firmware" / name).read_text(encoding="utf-8") for name in FILES)
PATTERNS = set(re.findall(r'"((?:\*[A-Z]{3}|[A-Z]{4}[a-z]+:[A-Za-z:\[\]]+)\??)"', COMMANDS))


def test_every_command_is_in_the_manual() -> None:
    """Each pattern of the firmware's table stands in the manual as it is written there."""
    assert len(PATTERNS) == 29
    for pattern in PATTERNS:
        assert f"`{pattern}`" in MANUAL, pattern


def test_every_error_number_and_status_is_in_the_manual() -> None:
    """Whatever the firmware may answer or queue is explained."""
    source = (PACKAGE / "firmware" / "scpi.py").read_text(encoding="utf-8")
    used = {
        str(node.value.operand.value)
        for node in ast.parse(source).body
        if isinstance(node, ast.Assign)
        and isinstance(node.value, ast.UnaryOp)
        and isinstance(node.value.operand, ast.Constant)
    }
    for number in used:
        assert f"-{number}" in MANUAL, number
    for path in (PACKAGE / "firmware").glob("*.py"):
        for status in re.findall(r'Refused\("([A-Z]+)"|, "([A-Z]{4,})", \[', path.read_text(encoding="utf-8")):
            assert f"`{''.join(status)}`" in MANUAL, status


def test_every_pin_of_the_chip_that_is_used_is_in_the_manual() -> None:
    """Each pin that a file of the firmware takes stands in the manual's table."""
    taken = set(range(2, 12))
    for path in (PACKAGE / "firmware").glob("*.py"):
        taken |= set(map(int, re.findall(r"Pin\((\d+)", path.read_text(encoding="utf-8"))))
    listed: set[int] = set()
    for row in re.findall(r"^\| (GP[^|]+) \|", MANUAL, re.MULTILINE):
        numbers = list(map(int, re.findall(r"\d+", row)))
        listed |= set(range(numbers[0], numbers[-1] + 1)) if "-" in row else set(numbers)
    assert listed == taken
    assert len(taken) == 26  # all that a Pico brings out


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (parts.FUSE_OHM, "10 ohm, 47 ohm, 5 V"),
        (parts.SENSE_OHM, "100 kohm"),
        (parts.DIVIDER_OHM, "2.7 kohm"),
        (parts.LOW_LEVEL_OHM, "56 ohm"),
        (parts.TIE_OHM, "1 kohm"),
        (parts.RAIL_BLEED_OHM, "1 kohm across the supply"),
        (parts.COMPARATOR_OHM, "1 Mohm"),
        (parts.DELAY_STEP_PS, "16 ps a count"),
    ],
)
def test_parts_have_the_same_value_in_the_manual_and_on_the_board(value: int, text: str) -> None:
    """The simulated board and the proof of its signature use the values that the manual tells the builder."""
    assert text in MANUAL
    number, unit = text.split()[:2]
    scale = {"ohm": 1, "kohm": 1_000, "Mohm": 1_000_000, "ps": 1}[unit.rstrip(",")]
    assert value == float(number) * scale


def test_the_manual_says_that_nobody_has_built_it() -> None:
    """The board's state is said plainly, in the first lines."""
    assert "nobody has yet built" in MANUAL[:800]
    assert "estimates" in MANUAL.lower()


def test_options_of_the_simulator_are_in_the_manual(capsys: pytest.CaptureFixture[str]) -> None:
    """Each option of `python -m firmware_sim --help` stands in the manual."""
    with pytest.raises(SystemExit):
        main(["--help"])
    for option in set(re.findall(r"--[a-z-]+", capsys.readouterr().out)) - {"--help"}:
        assert f"`{option}" in MANUAL, option
