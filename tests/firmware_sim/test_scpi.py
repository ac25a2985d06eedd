"""Program messages after IEEE 488.2: numbers in every spelling, empty units, and lines at random."""

from pathlib import Path

import pytest

from tests.firmware_sim.processes import VMS, run_program, tables
from tests.firmware_sim.scpi_lines import lines_end_in_the_queue

# IEEE 488.2, 7.7.2 (decimal, rounded) and 7.7.4 (#H, #Q, #B): message, then what *ESE? says, or the error's number.
NUMBERS = [
    *(("1", 1), ("+7", 7), ("#H1", 1), ("#HFF", 255), ("#hfe", 254), ("#Q17", 15), ("#B101", 5), ("1e1", 10)),
    *(("1.5", 2), ("2.49", 2), (".5", 1), ("5.", 5), ("255.4", 255), ("2550e-1", 255), ("0e99", 0), ("1E-999", 0)),
    *(("255.5", -222), ("-1", -222), ("1e999", -222), ("#H100", -222), ("9" * 40, -222)),
    *((".", -104), ("e1", -104), ("1e", -104), ("#", -104), ("#Hg", -104), ("#B2", -104), ("ON", -104)),
]
PROGRAM = """
import commands, safety, scpi
safety.begin()
status = scpi.Status()
parser = commands.parser(status)
for message in MESSAGES:
    status.clear()
    print(parser.obey(message), status.queue[0][0] if status.queue else 0)
"""


def asked(folder: Path, messages: list[str], vm: str) -> list[str]:
    """Return what the firmware says to each message, and the first error that it queues, 0 = none."""
    done = run_program(folder, PROGRAM.replace("MESSAGES", repr(messages)), tables({}), vm)
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()


@pytest.mark.parametrize("vm", VMS)
def test_numbers_in_every_spelling(tmp_path: Path, vm: str) -> None:
    """Decimal numbers are rounded, others read in their base; what is none, or too large, is an error of its own."""
    said = asked(tmp_path, [f"*ESE 0;*ESE {text};*ESE?" for text, _ in NUMBERS], vm)
    assert said == [f"{wanted} 0" if wanted >= 0 else f"0 {wanted}" for _, wanted in NUMBERS]


@pytest.mark.parametrize("vm", VMS)
def test_lines_that_once_ended_the_firmware(tmp_path: Path, vm: str) -> None:
    """A number where a check value could stand, one where none can, and empty units: each is answered or refused."""
    messages = ["*ESE #H1", "SYST:ERR? #H12345678", "SYST:VERS?;?", "SYST:VERS? #H12", ";;", "*CLS;;SYST:VERS?;"]
    assert asked(tmp_path, messages, vm) == [" 0", " -108", "1999.0 -113", " -108", " 0", "1999.0 0"]


def test_no_line_ends_the_firmware(tmp_path: Path) -> None:
    """Of lines at random, legal and not, every one ends in an answer or in the error queue, on every kind of board."""
    assert lines_end_in_the_queue(tmp_path, 3, 3000).count(" 1000 lines") == 3
