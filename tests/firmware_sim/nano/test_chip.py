"""The bare tester's program for an ATmega328P, in simavr: its language, its scan, what it refuses, what it drives."""

import subprocess
from collections.abc import Iterator

import pytest

from tests.firmware_sim.nano.chip import Chip, firmware
from tests.firmware_sim.nano.counts import check_drives, count_hurt, count_nets

FLASH, RAM = 30_720, 2_048  # of the chip, less 2 kB for the loader
STRAIGHT = [[near, near + 9] for near in range(1, 10)]


@pytest.fixture(scope="module")
def chip() -> Iterator[Chip]:
    """Start a tester with nothing in its sockets."""
    with Chip(firmware()) as running:
        yield running


def test_identification_has_the_four_fields_of_ieee_488_2(chip: Chip) -> None:
    """*IDN? gives maker, model, serial number ("0" where there is none: IEEE 488.2, 10.14, from memory), version."""
    assert chip.ask("*IDN?") == "WIREMAP,BARE-18,0,1.0"


def test_headers_are_known_in_short_and_long_form_and_any_case(chip: Chip) -> None:
    """Short and long form mean the same, in capitals or not, and nothing between them does (SCPI-1999, 6.2.1)."""
    for header in ("SYST:VERS?", "system:version?", "SYSTem:VERSion?", ":syst:VERSION?"):
        assert chip.ask(header) == "1999.0"
    for header in ("SYSTE:VERS?", "SYST:VERSI?", "SYS:VERS?", "SYSTEMS:VERS?"):
        chip.send(header)
        assert chip.ask("SYST:ERR:NEXT?") == f'-113,"Undefined header;{header}"'


def test_the_answers_of_one_message_come_on_one_line(chip: Chip) -> None:
    """Queries joined by semicolons answer joined by semicolons; the header path is kept (SCPI-1999, 6.2.4)."""
    assert chip.ask("SYST:VERS?;ERR?;*OPC?;:SYST:VERS?") == '1999.0;0,"No error";1;1999.0'


def test_empty_units_and_numbers_of_other_bases_are_taken(chip: Chip) -> None:
    """IEEE 488.2 lets a unit be empty (7.3.2.1) and a number be hexadecimal, octal or binary (7.7.4), from memory."""
    assert chip.ask(";; *ESE #H20 ;;*ESE?;") == "32"
    assert chip.ask("*ESE #b101;*ESE?;*SRE #Q17;*SRE?") == "5;15"
    for wrong in ("#H", "#HG", "#B2", "#Q8", "#X1", "-", "1.5", ""):
        chip.send(f"*ESE {wrong}")
        assert chip.ask("SYST:ERR?").startswith("-10"), wrong
    assert chip.ask("*ESE 0;*SRE 0;*ESE?;*SRE?") == "0;0"


@pytest.mark.parametrize(
    ("message", "error"),
    [
        ("FOO?", -113),
        ("*FOO", -113),
        ("?", -113),
        ("SYST:VERS?;?", -113),
        ("MEAS:ARR:RES? 1", -113),
        ("MEAS:ARR:CONT?", -109),
        ("MEAS:ARR:CONT? ", -109),
        ("MEAS:ARR:CONT? 1,", -109),
        ("MEAS:ARR:CONT? 1,2", -108),
        ("*CLS 1", -108),
        ("MEAS:ARR:CONT? one", -104),
        ("MEAS:ARR:CONT? 0", -222),
        ("MEAS:ARR:CONT? 1000000", -222),
        ("MEAS:ARR:CONT? -1", -222),
        ("MEAS:ARR:CONT? 4294967297", -222),
        ("*SRE 256", -222),
        ("*TRG \x7f", -101),
        ("MEAS:ARR:CONT? 1,#H00000000", -220),
        ("SYST:VERS? #H00000001", -220),
        ("A" * 300 + "?", -113),
        ("B" * 401, -363),
    ],
)
def test_each_wrong_message_queues_its_standard_error(chip: Chip, message: str, error: int) -> None:
    """What is wrong with a message is told by the number that SCPI-1999, volume 2, chapter 21 gives it."""
    chip.ask("*CLS;*OPC?")
    if message.startswith("SYST:VERS?;"):
        assert chip.ask(message) == "1999.0"
    else:
        chip.send(message)
    assert chip.ask("SYST:ERR?").startswith(f"{error},")
    assert chip.ask("SYST:ERR?") == '0,"No error"'


def test_a_full_queue_says_so_in_its_last_place(chip: Chip) -> None:
    """Of more than 16 errors the first 15 are kept, and -350 stands for the rest (SCPI-1999, 21.8.1)."""
    chip.ask("*CLS;*OPC?")
    for number in range(20):
        chip.send(f"FOO{number}")
    errors = [chip.ask("SYST:ERR?") for _ in range(17)]
    assert errors[:2] == ['-113,"Undefined header;FOO0"', '-113,"Undefined header;FOO1"']
    assert errors[15:] == ['-350,"Queue overflow"', '0,"No error"']


def test_status_bits_follow_ieee_488_2(chip: Chip) -> None:
    """A command error sets bit 5 of the events, an enabled event bit 5 of the status byte, an error waiting bit 2."""
    assert chip.ask("*CLS;*ESR?") == "0"
    chip.send("FOO")
    assert chip.ask("*ESE 32;*SRE 32;*STB?") == "100"
    assert chip.ask("*ESR?;*STB?") == "32;4"
    assert chip.ask("*CLS;*OPC;*ESR?;*STB?;*ESE 0;*SRE 0;*WAI") == "1;0"


def test_it_says_what_it_can_do(chip: Chip) -> None:
    """Joined or open, and voltages that read as high: no ohms; both sockets with a screen."""
    assert chip.measure("TEST:FEAT?") == ["OK", "CONT", "FOREIGN"]
    names = [*(f'"{n}"' for n in range(1, 9)), '"S"']
    assert chip.measure("TEST:CONT?") == ["OK", "9", "9", *names, *names]
    assert chip.measure("TEST:RES?") == ["OK", "10000000"]


def test_what_10_kohm_joins_is_joined_and_what_1_mohm_joins_is_not() -> None:
    """Whatever the length and the threshold of the pins, and at far S too."""
    for threshold, metres in ((1_550, 0.0), (2_950, 90.0)):
        with Chip(firmware(), threshold_mv=threshold) as chip:
            chip.put([[1, 10]], ohm=10_000, metres=metres)
            for a, b, ohm in ((2, 11, 1e6), (4, 9, 1e6), (8, 18, 1e6), (7, 9, 1e4)):
                chip.order(f"join {a} {b} {ohm}")
            assert chip.joined() == {(1, 10), (7, 9)}, (threshold, metres)


def test_random_cables_are_scanned_right() -> None:
    """A few of the cables of the long check, at the lowest, middle and highest threshold of a pin."""
    count_nets(7, 3)


def test_hurt_bytes_make_no_wrong_scan() -> None:
    """A few of the scans of the long check, with a byte in a thousand lost or changed."""
    count_hurt(3, 2)


def test_voltages_are_refused_before_anything_is_high() -> None:
    """D.c. and a.c. against ground, between contacts, 57 V, and 2 V at far S: named; no contact was driven high."""
    cases = (
        ("source 3 0 1000 5000 0", ["FOREIGN", "1", "3", "3000", "DC"]),
        ("source 4 13 100 57000 0", ["FOREIGN", "1", "4", "3000", "DC"]),
        ("source 6 0 10000 8000 50", ["FOREIGN", "1", "6", "3000", "AC"]),
        ("source 5 14 1000 4000 0", ["FOREIGN", "1", "5", "3000", "DC"]),
        ("source 18 0 1000 2000 0", ["FOREIGN", "1", "18", "1000", "DC"]),
    )
    with Chip(firmware()) as fresh:
        for order, refused in cases:
            fresh.order("empty")
            fresh.order(order)
            assert fresh.measure("MEAS:ARR:CONT?") == refused
        assert fresh.report()["high"] == 0
        assert fresh.measure("MEAS:VOLT?") == ["OK", *refused[1:]]


def test_what_leaks_into_an_empty_contact_joins_nothing(chip: Chip) -> None:
    """20 nA are passed over; 200 nA, a dirty board, lift an empty contact within a millisecond and are refused."""
    chip.put([[1, 10]])
    chip.order("leak 5 20")
    assert chip.joined() == {(1, 10)}
    chip.order("leak 5 200")
    assert chip.measure("MEAS:ARR:CONT?") == ["FOREIGN", "1", "5", "3000", "DC"]


def test_a_pin_that_does_not_follow_is_named(chip: Chip) -> None:
    """A pin held low, as by a lamp, is no open contact: the scan is refused as SELFTEST with the contact's number."""
    chip.put(STRAIGHT)
    chip.order("stuck 12 low")
    try:
        assert chip.measure("MEAS:ARR:CONT?") == ["SELFTEST", "1", "12"]
        assert chip.ask("*TST?;SYST:ERR?") == '1;-330,"Self-test failed;1"'
    finally:
        chip.order("stuck 12 free")
    check_drives(chip)


def test_a_program_that_stops_lets_go_within_five_seconds_and_starts_again() -> None:
    """The watchdog ends a loop that never ends while a contact is driven; then the tester answers as after power-up."""
    with Chip(firmware()) as chip:
        chip.put(STRAIGHT)
        chip.send("MEAS:ARR:CONT? 1")
        while chip.report()["driven"] != 2 or chip.report()["high"] != 1:
            pass
        chip.order("hang")
        began = chip.report()
        assert began["driven"] >= 1
        while (seen := chip.report())["driven"]:
            assert seen["at-us"] - began["at-us"] < 5_000_000
        assert chip.ask("*ESR?") == "128"
        check_drives(chip)


def test_it_fits_the_chip() -> None:
    """The program and its fixed memory leave the loader's 2 kB and half a kilobyte for the stack."""
    told = subprocess.run(["avr-size", str(firmware())], capture_output=True, text=True, check=True).stdout
    text, data, bss = (int(word) for word in told.splitlines()[1].split()[:3])
    assert text + data <= FLASH
    assert data + bss <= RAM - 512
