"""The firmware's command code, on CPython and on the MicroPython VM."""

import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.firmware_sim.processes import VMS, Firmware, straight, tables


@pytest.fixture(params=VMS)
def firmware(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Firmware]:
    """Start a tester with a straight cable in it."""
    with Firmware(tmp_path, tables(straight()), request.param) as running:
        yield running


def test_identification_has_the_four_fields_of_ieee_488_2(firmware: Firmware) -> None:
    """*IDN? gives maker, model, serial number and firmware version (IEEE 488.2, 10.14, from memory)."""
    maker, model, serial, version = firmware.ask("*IDN?").split(",")
    assert (maker, model) == ("WIREMAP", "BENCH-18")
    assert serial
    assert version


def test_headers_are_known_in_short_and_long_form_and_any_case(firmware: Firmware) -> None:
    """Short and long form mean the same, in capitals or not, and nothing between them does (SCPI-1999, 6.2.1)."""
    for header in ("SYST:VERS?", "system:version?", "SYSTem:VERSion?", ":syst:VERSION?"):
        assert firmware.ask(header) == "1999.0"
    firmware.send("SYSTE:VERS?")
    assert firmware.ask("SYST:ERR?") == '-113,"Undefined header;SYSTE:VERS?"'


def test_an_optional_node_may_be_left_out(firmware: Firmware) -> None:
    """SYSTem:ERRor? and SYSTem:ERRor:NEXT? are one command (SCPI-1999, 21.8)."""
    assert firmware.ask("SYST:ERR:NEXT?") == firmware.ask("SYST:ERR?") == '0,"No error"'


def test_the_answers_of_one_message_come_on_one_line(firmware: Firmware) -> None:
    """Queries joined by semicolons answer joined by semicolons; the header path is kept (SCPI-1999, 6.2.4)."""
    assert firmware.ask("SYST:VERS?;ERR?;*OPC?;:SYST:VERS?") == '1999.0;0,"No error";1;1999.0'


@pytest.mark.parametrize(
    ("message", "number"),
    [
        ("FOO?", -113),
        ("*FOO", -113),
        ("MEAS:ARR:RES?", -109),
        ("MEAS:ECHO? 1,2", -109),
        ("MEAS:ARR:CAP? 1,PAIR,,8", -109),
        ("MEAS:ARR:RES? 1,2", -108),
        ("*CLS 1", -108),
        ("MEAS:ARR:RES? one", -104),
        ("*ESE 1.5.2", -104),
        ("MEAS:ARR:RES? 0", -222),
        ("MEAS:ARR:RES? 1000000", -222),
        ("*SRE 256", -222),
        ("MEAS:ARR:CAP? 1,TRIPLE", -224),
        ("SYST:VERS? \x7f", -101),
        ("MEAS:ARR:RES? 1,#H00000000", -220),
    ],
)
def test_each_wrong_message_queues_its_standard_error(tmp_path: Path, message: str, number: int) -> None:
    """What is wrong with a message is told by the number that SCPI-1999, volume 2, chapter 21 gives it."""
    with Firmware(tmp_path, tables()) as firmware:
        firmware.send(message)
        assert firmware.ask("SYST:ERR?").startswith(f"{number},")
        assert firmware.ask("SYST:ERR?") == '0,"No error"'


def test_a_wrong_contact_is_answered_and_queued(firmware: Firmware) -> None:
    """A contact that is not there gives RANGE under the question's tag, and error -222."""
    assert firmware.measure("MEAS:ECHO?", 1, 19) == ["RANGE"]
    assert firmware.measure("MEAS:ECHO?", 4, 4) == ["RANGE"]
    assert firmware.measure("MEAS:ECHO?", 1, 2, 75) == ["RANGE"]
    for found in ("19", "4", "75"):
        assert firmware.ask("SYST:ERR?") == f'-222,"Data out of range;{found}"'


def test_a_full_error_queue_says_so_in_its_last_place(firmware: Firmware) -> None:
    """Of more errors than the queue holds, the first stay and the last is -350 (SCPI-1999, 21.8.1)."""
    for _ in range(20):
        firmware.send("FOO?")
    seen = []
    while (error := firmware.ask("SYST:ERR?")) != '0,"No error"':
        seen.append(error)
    assert len(seen) == 16
    assert set(seen[:15]) == {'-113,"Undefined header;FOO?"'}
    assert seen[15] == '-350,"Queue overflow"'


def test_status_registers_follow_ieee_488_2(firmware: Firmware) -> None:
    """Event bits latch until read, enable masks let them through to the status byte (IEEE 488.2, 11)."""
    assert firmware.ask("*ESR?") == "128"  # power on
    firmware.send("*ESE 32;*SRE 32")
    assert firmware.ask("*ESE?;*SRE?;*STB?") == "32;32;0"
    firmware.send("FOO")
    assert firmware.ask("*STB?") == str(4 | 32 | 64)
    assert firmware.ask("*ESR?;*ESR?") == "32;0"
    firmware.send("*OPC")
    assert firmware.ask("*ESR?") == "1"
    firmware.send("FOO;*CLS")
    assert firmware.ask("*STB?;SYST:ERR?") == '0;0,"No error"'


def test_a_message_that_is_too_long_is_reported_and_the_next_one_heard(firmware: Firmware) -> None:
    """A message beyond the input buffer is error -363, and costs no other message."""
    firmware.send("*IDN?" + " " * 600)
    assert firmware.ask("SYST:ERR?") == '-363,"Input buffer overrun"'


def test_carriage_returns_and_empty_lines_are_passed_over(firmware: Firmware) -> None:
    """Lines may end in CR LF; an empty one asks nothing."""
    firmware.send(b"\r\n\n  \n*OPC?\r\n")
    assert firmware.line() == "1"


def test_a_question_may_carry_its_own_checksum(firmware: Firmware) -> None:
    """A question sealed like the answers is obeyed when the CRC fits, and asks nothing else when it does not."""
    seal = f"{zlib.crc32(b'TEST:RES? 77'):08X}"
    assert firmware.ask(f"TEST:RES? 77,#H{seal}").startswith("77,OK,20,")
    firmware.send(f"TEST:RES? 78,#H{seal}")
    assert firmware.ask("SYST:ERR?") == '-220,"Parameter error;checksum"'


def test_what_it_offers_is_what_it_answers(firmware: Firmware) -> None:
    """Every feature word stands for a query that answers OK."""
    assert firmware.measure("TESTer:FEATures?")[1:] == [
        "RES",
        "LOW",
        "CAP",
        "GROUP",
        "ECHO",
        "TRACE",
        "FOREIGN",
        "WATCH",
        "SIM",
    ]
    for question in (
        ("MEAS:ARR:RES?",),
        ("MEAS:ARR:RES:LOW?",),
        ("MEAS:ARR:CAP?", "PAIR", 1),
        ("MEAS:ARR:CAP?", "SINGLE", 1),
        ("MEAS:ARR:CAP?", "DOUBLE", 1),
        ("MEAS:ECHO?", 1, 2, 50, 1),
        ("MEAS:TRAC?", 1, 2),
        ("MEAS:VOLT?",),
        ("WATC:STAR?",),
        ("FETC:EVEN?", 0),
        ("WATC:STOP?",),
    ):
        assert firmware.measure(*question)[0] == "OK", question


def test_contacts_are_named_near_then_far(firmware: Firmware) -> None:
    """TESTer:CONTacts? gives the counts and the quoted names of both sockets in matrix order."""
    names = [f'"{name}"' for name in "12345678S"]
    assert firmware.measure("TEST:CONT?") == ["OK", "9", "9", *names, *names]


def test_it_ends_when_its_line_does(firmware: Firmware) -> None:
    """A firmware process whose line has gone ends by itself, and leaves none behind."""
    process = firmware._process
    assert process.stdin is not None
    process.stdin.close()
    assert firmware.wait() == 0
