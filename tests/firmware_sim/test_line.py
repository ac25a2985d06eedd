"""The simulator's process and what happens to its line on request."""

import json
import os
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
import serial

from firmware_sim.launcher import PACKAGE
from tests.firmware_sim.bench_boards import bench_tables
from tests.firmware_sim.processes import need_vm, run_program, straight, tables
from tests.firmware_sim.simulators import ROOT, described, simulator

PTY = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no pseudo-terminals")
LINES = [pytest.param((), marks=PTY, id="pty"), pytest.param(("--tcp",), id="tcp")]


def ask(port: serial.Serial, message: str) -> str:
    """Send a message and return the next line."""
    port.write(message.encode() + b"\n")
    return bytes(port.readline()).decode("ascii", "backslashreplace").rstrip("\r\n")


def opened(address: str, timeout_s: float = 60.0) -> serial.Serial:
    """Open an address as a host does."""
    return serial.serial_for_url(address, timeout=timeout_s)


@pytest.mark.parametrize("options", LINES)
@pytest.mark.parametrize("vm", ["cpython", "micropython"])
def test_the_first_line_is_the_address_and_a_host_can_talk_there(options: tuple[str, ...], vm: str) -> None:
    """A serial library opens the one line on standard output; the firmware answers on either interpreter."""
    need_vm(vm)
    with simulator(*options, "--vm", vm) as (address, _):
        assert address.startswith("socket://127.0.0.1:" if options else "/dev/")
        with opened(address) as port:
            assert ask(port, "*IDN?").startswith("WIREMAP,BENCH-18,")
            assert ask(port, "MEAS:ARR:RES? 7").startswith("7,OK,18,")


@pytest.mark.parametrize("options", LINES)
def test_it_outlives_its_clients(options: tuple[str, ...]) -> None:
    """After a host has gone, the next one finds the same tester with its state."""
    with simulator(*options) as (address, _):
        for number in range(3):
            with opened(address) as port:
                assert ask(port, "*ESR?") == ("128" if number == 0 else "0")


def test_it_ends_when_its_input_closes() -> None:
    """Closing standard input ends the process within seconds: a killed program leaves no orphan."""
    with simulator() as (_, process):
        assert process.stdin is not None
        process.stdin.close()
        assert process.wait(60) == 0


def test_it_names_its_cables() -> None:
    """--list names the cables that come with it, a line each."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "firmware_sim", "--list"]
    listed = subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout
    assert "patch" in [line.split()[0] for line in listed.splitlines()]


@pytest.mark.parametrize("cable", ["no-such-cable", "no-such-file.toml"])
def test_a_cable_that_is_not_there_is_an_error_with_a_name(cable: str) -> None:
    """An unknown name or file ends the process with code 2 and says what it looked for."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "firmware_sim", "--cable", cable]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stdout == ""
    assert cable in done.stderr
    assert "Traceback" not in done.stderr


@PTY
def test_a_half_sent_question_is_no_trouble_to_the_next() -> None:
    """What one client left half sent ends with the next line feed, and the next question is heard whole."""
    with simulator() as (address, _):
        with opened(address) as port:
            port.write(b"MEAS:ARR:R")
            port.flush()
        with opened(address) as port:
            port.write(b"\n")
            assert ask(port, "*OPC?") == "1"


def test_a_second_client_is_refused_on_request(tmp_path: Path) -> None:
    """With refuse_second a second TCP client is hung up on at once, while the first goes on."""
    with simulator("--tcp", cable=described(tmp_path, "refuse_second = true")) as (address, _):
        place = ("127.0.0.1", int(address.rpartition(":")[2]))
        with opened(address) as port:
            assert ask(port, "*OPC?") == "1"
            with socket.create_connection(place, 60) as second:
                second.settimeout(60)
                assert second.recv(10) == b""
            assert ask(port, "*OPC?") == "1"


def test_a_second_client_waits_otherwise() -> None:
    """Without it a second TCP client gets its answer when the first has gone."""
    with simulator("--tcp") as (address, _):
        place = ("127.0.0.1", int(address.rpartition(":")[2]))
        with opened(address) as port:
            assert ask(port, "*OPC?") == "1"
            second = socket.create_connection(place, 60)
            second.settimeout(60)
            second.sendall(b"*OPC?\n")
        with second:
            assert second.recv(10) == b"1\n"


def test_answers_stall_on_request(tmp_path: Path) -> None:
    """stall_ms holds each answer in its middle for so long; nothing of it is lost."""
    with simulator(cable=described(tmp_path, "stall_ms = 600")) as (address, _), opened(address, 0.3) as port:
        begun = time.monotonic()
        first = ask(port, "*IDN?")
        assert 0 < len(first) < 36
        rest = b""
        while not rest.endswith(b"\n"):
            rest += port.readline()
        assert time.monotonic() - begun >= 0.6
        assert (first + rest.decode()).startswith("WIREMAP,BENCH-18,")


@pytest.mark.parametrize("options", LINES)
def test_a_stale_fragment_comes_first_on_request(tmp_path: Path, options: tuple[str, ...]) -> None:
    """stale puts the end of an old answer before the first one."""
    with simulator(*options, cable=described(tmp_path, "stale = true")) as (address, _), opened(address) as port:
        assert ask(port, "*OPC?").startswith(",9.9E37")
        assert port.readline() == b"1\n"


def test_a_traceback_is_glued_to_data_on_request(tmp_path: Path) -> None:
    """traceback breaks the first measured answer with what MicroPython prints; the next one is whole."""
    with simulator(cable=described(tmp_path, "traceback = true")) as (address, _), opened(address) as port:
        assert ask(port, "*OPC?") == "1"
        lines = [ask(port, "TEST:CONT? 5")]
        while "9.9" not in lines[-1] and "#H" not in lines[-1]:
            lines.append(bytes(port.readline()).decode().rstrip())
        assert any("Traceback (most recent call last):" in line for line in lines)
        assert lines[0].startswith("5,OK,9,9,")
        assert ask(port, "TEST:CONT? 6").startswith("6,OK,9,9,")


def _ask_on(port: serial.Serial) -> None:
    for _ in range(100):
        port.write(b"*IDN?\n")
        port.read(1)


@pytest.mark.parametrize("options", LINES)
def test_it_dies_in_the_middle_of_an_answer_on_request(tmp_path: Path, options: tuple[str, ...]) -> None:
    """After die_after answers the next one is cut in half, the line goes, and the process ends."""
    with simulator(*options, cable=described(tmp_path, "die_after = 2")) as (address, process):
        with opened(address, 3) as port:
            assert ask(port, "*OPC?") == "1"
            assert ask(port, "*OPC?") == "1"
            port.write(b"*IDN?\n")
            assert port.read(18) == b"WIREMAP,BENCH-18,5"
            with pytest.raises(serial.SerialException):
                _ask_on(port)
        assert process.wait(60) == 0


def test_bits_flip_at_the_rate_that_was_asked_for(tmp_path: Path) -> None:
    """flip is the chance of a byte to arrive with one bit wrong, in answers as in questions."""
    with simulator("--tcp", cable=described(tmp_path, "flip = 0.002")) as (address, _), opened(address, 0.2) as port:
        wrong = 0
        for _ in range(60):
            answer = ask(port, "TEST:CONT? 1")
            wrong += not answer.startswith('1,OK,9,9,"1","2"') or not answer.endswith("#H443773FC")
        # 106 bytes both ways: 19 % of the exchanges are hurt; 60 of them within four standard deviations.
        assert 2 <= wrong <= 24


def test_without_poll_a_thread_feeds_the_firmware(tmp_path: Path) -> None:
    """Where the system has no select.poll, as on Windows, the firmware hears and answers all the same, to the end."""
    (tmp_path / "tables.json").write_text(json.dumps(tables(straight())))
    start = f"import select, sys; del select.poll; sys.path.insert(0, {str(PACKAGE / 'board')!r}); import cpython"
    start += f"; sys.argv = ['', {str(ROOT)!r}, {str(tmp_path / 'tables.json')!r}, 'fast']; cpython.main()"
    done = subprocess.run(
        [sys.executable, "-I", "-S", "-c", start],
        input="*OPC?\nMEAS:ARR:RES? 5\n",
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    first, second = done.stdout.splitlines()
    assert first == "1"
    assert second.startswith("5,OK,18,")


def test_real_pace_takes_the_time_that_the_board_takes() -> None:
    """At real pace a look at the voltages lasts at least the 100 ms that it averages over."""
    with simulator("--pace", "real") as (address, _), opened(address) as port:
        ask(port, "*OPC?")
        begun = time.monotonic()
        assert ask(port, "MEAS:VOLT? 1").startswith("1,OK,0")
        assert time.monotonic() - begun >= 0.1


LOOK = """
import utime
slept, begun = [], utime.ticks_us()
utime.ticks_us = lambda: begun + sum(slept)
utime.ticks_diff = lambda later, earlier: later - earlier
utime.sleep_us = slept.append
import commands, safety, scpi
from firmware_sim.board.power import clock
safety.begin()
clock.idle()
begun_us, before_us = clock.now_us, sum(slept)
assert commands.parser(scpi.Status()).obey("MEAS:VOLT? 1").startswith("1,OK,0")
print(clock.now_us - begun_us, sum(slept) - before_us)
"""


def test_fast_pace_waits_for_nothing_and_real_pace_for_what_the_board_takes(tmp_path: Path) -> None:
    """With a wall clock that only sleeping moves: the same look, slept through at real pace and not at fast pace."""
    lasted = {}
    for pace in ("real", "fast"):
        done = run_program(tmp_path, LOOK, bench_tables(), pace=pace)
        assert done.returncode == 0, done.stderr
        lasted[pace] = [int(us) for us in done.stdout.split()]
    assert lasted["fast"][1] == 0
    assert lasted["real"][0] == lasted["fast"][0] >= 100_000
    assert abs(lasted["real"][1] - lasted["real"][0]) < 5_000  # what is less than a millisecond ahead waits for more
