import subprocess
import sys
from pathlib import Path

import pytest

from tests.firmware_sim.simulators import described, simulator
from tests.tester.flips import STRAIGHT, flipped_bits_are_never_read, reading_of
from wiremap.contact import near_contact
from wiremap.errors import TesterError
from wiremap.reading.joined import joined_pairs
from wiremap.tester.measure import open_tester
from wiremap.tester.simulator import running_simulator
from wiremap.tester.view import WATCHED_OHM


@pytest.mark.parametrize("options", [(), ("--tcp",)], ids=["pty", "tcp"])
def test_the_whole_chain(tmp_path: Path, options: tuple[str, ...]) -> None:
    """The firmware's own code, on a pseudo-terminal and over TCP, gives a reading of the cable that was described."""
    with simulator(*options, cable=described(tmp_path)) as (address, _):
        reading = reading_of(address)
    assert joined_pairs(reading.resistance_ohm, WATCHED_OHM) == STRAIGHT
    assert reading.tester is not None
    assert reading.tester.model == "BENCH-18"
    assert reading.capacitance is not None
    assert reading.capacitance.sd_pf is not None
    assert [(echo.a, echo.b) for echo in reading.echoes[:4]] == [
        (near_contact("1"), near_contact("2")),
        (near_contact("3"), near_contact("6")),
        (near_contact("4"), near_contact("5")),
        (near_contact("7"), near_contact("8")),
    ]


@pytest.mark.parametrize("fault", ["stale = true", "traceback = true", "stall_ms = 20"])
def test_a_bad_line_that_can_be_lived_with(tmp_path: Path, fault: str) -> None:
    """Stale bytes, one traceback glued to an answer, and answers that come in two halves do not change the reading."""
    with simulator(cable=described(tmp_path, fault)) as (address, _):
        assert joined_pairs(reading_of(address).resistance_ohm, WATCHED_OHM) == STRAIGHT


@pytest.mark.parametrize("answers", [3, 4, 5, 8])
def test_a_tester_that_dies(tmp_path: Path, answers: int) -> None:
    """A tester that dies in the middle of an answer is an error at once, whatever it was saying."""
    with (
        simulator(cable=described(tmp_path, f"die_after = {answers}")) as (address, _),
        pytest.raises(TesterError, match="the line to the tester broke"),
    ):
        reading_of(address)


def test_a_second_program_is_refused(tmp_path: Path) -> None:
    """Over TCP the simulator refuses a second host, who is told that nobody answers."""
    with (
        simulator("--tcp", cable=described(tmp_path, "refuse_second = true")) as (address, _),
        open_tester(address),
        pytest.raises(TesterError) as raised,
        open_tester(address),
    ):
        pass
    assert raised.value.hint


def test_flipped_bits_are_never_read() -> None:
    """Over a line that flips and loses bytes of questions and answers, a reading is sound or there is none."""
    assert "none wrong" in flipped_bits_are_never_read(seed=1, count=4)


def test_the_simulator_ends_with_its_host() -> None:
    """The simulator ends when the program that started it is killed, however it is killed."""
    code = (
        "import os, signal; from wiremap.tester.simulator import running_simulator\n"
        "with running_simulator('patch') as address:\n"
        "    print(address, flush=True); os.kill(os.getpid(), signal.SIGKILL)"
    )
    killed = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    address = killed.stdout.strip()
    assert address.startswith(("/dev/", "socket://"))
    for _ in range(100):
        if not Path(address).exists():
            return
        subprocess.run(["sleep", "0.1"], check=True)
    raise AssertionError(f"the simulator still holds {address}")


def test_a_folder_of_that_name_does_not_shadow_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder called firmware_sim where the user stands is not what is started."""
    (tmp_path / "firmware_sim").mkdir()
    (tmp_path / "firmware_sim" / "__main__.py").write_text("print('/dev/null')")
    monkeypatch.chdir(tmp_path)
    with running_simulator("") as address:
        assert address != "/dev/null"
