"""A client written elsewhere: pyvisa with pyvisa-py, on the pseudo-terminal and on TCP."""

import binascii
import sys
from collections.abc import Iterator
from typing import Any

import pytest
import pyvisa

from tests.firmware_sim.simulators import simulator


@pytest.fixture(params=["pty", "tcp"])
def instrument(request: pytest.FixtureRequest) -> Iterator[Any]:
    """Open the simulator as an instrument."""
    if request.param == "pty" and sys.platform == "win32":
        pytest.skip("Windows has no pseudo-terminals")
    with simulator(*(["--tcp"] if request.param == "tcp" else [])) as (address, _):
        if request.param == "tcp":
            name = f"TCPIP0::127.0.0.1::{address.rpartition(':')[2]}::SOCKET"
        else:
            name = f"ASRL{address}::INSTR"
        manager = pyvisa.ResourceManager("@py")
        resource: Any = manager.open_resource(name, read_termination="\n", write_termination="\n", timeout=10_000)
        yield resource
        resource.close()
        manager.close()


def test_it_identifies_itself(instrument: Any) -> None:
    """*IDN? gives four fields to any instrument library."""
    assert instrument.query("*IDN?").split(",")[:2] == ["WIREMAP", "BENCH-18"]


def test_its_self_test_is_sound(instrument: Any) -> None:
    """*TST? is 0, and *OPC? synchronises."""
    assert int(instrument.query("*TST?")) == 0
    assert int(instrument.query("*OPC?")) == 1


def test_its_error_queue_is_that_of_scpi(instrument: Any) -> None:
    """Errors come back in order, with the numbers of SCPI-1999, and the queue is then empty."""
    for message in ("FOO:BAR", "MEAS:ARR:RES?", "*CLS 1", "*ESE x", "*SRE 999"):
        instrument.write(message)
    numbers = [int(instrument.query("SYST:ERR?").split(",")[0]) for _ in range(6)]
    assert numbers == [-113, -109, -108, -104, -222, 0]
    assert float(instrument.query("SYSTem:VERSion?")) == 1999.0


def test_it_scans(instrument: Any) -> None:
    """A scan comes as numbers that the library turns into floats: 9.9E37 where open, the rest milliohm."""
    answer = instrument.query("MEASure:ARRay:RESistance? 42")
    content, _, seal = answer.rpartition(",")
    assert seal == f"#H{binascii.crc32(content.encode()):08X}"
    tag, status, count, *values = content.split(",")
    assert (tag, status, count) == ("42", "OK", "18")
    milliohm = list(map(float, values))
    assert len(milliohm) == 153
    assert sum(value < 1_000 for value in milliohm) == 8
    assert {value for value in milliohm if value >= 1_000} == {9.9e37}
