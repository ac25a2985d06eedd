"""The bench board's firmware on the bench board's model: what it measures, and that both VMs agree to the byte."""

from pathlib import Path

import pytest

from tests.firmware_sim.bench_boards import bench_tables
from tests.firmware_sim.bench_checks import films, sound_cables
from tests.firmware_sim.processes import NOT_MEASURED, OPEN, VMS, Firmware, N, Tables, place


def resistances(fields: list[str]) -> list[str]:
    """Return the triangle of an answer that is OK."""
    assert fields[:2] == ["OK", str(N)]
    return fields[2:]


def agrees(given: Tables, seen: list[str]) -> None:
    """Assert that what is joined shows its ohms within 20 mohm + 1 %, and everything else is open."""
    for wanted, value in zip(given["networks"][0]["milliohm"], seen, strict=True):
        if wanted is None:
            assert value == OPEN
        else:
            assert abs(int(value) - wanted) <= 20 + wanted / 100, (wanted, value)


def test_a_board_of_the_worst_parts_measures_a_screened_cable(tmp_path: Path) -> None:
    """Every part at an end of its tolerance: ohms, low level and capacitances of 30 m of F/UTP, screen and all."""
    given = bench_tables({"parts": 5, "corner": 1}, segment=[{"cable": "F/UTP", "length_m": 30.0}])
    with Firmware(tmp_path, given) as firmware:
        agrees(given, resistances(firmware.measure("MEAS:ARR:RES?")))
        low = resistances(firmware.measure("MEAS:ARR:RES:LOW?"))
        for contact in range(9):
            wanted = given["networks"][0]["milliohm"][place(contact, contact + 9)]
            assert abs(int(low[place(contact, contact + 9)]) - wanted) < 5 * 400
        assert low.count(NOT_MEASURED) == len(low) - 9
        answer = firmware.measure("MEAS:ARR:CAP?", "DOUB")
    ff = [int(value) for value in answer[6:]]
    af = given["networks"][0]["nodes"]["af"]
    for a in range(9):
        for b in range(a):
            own = [ff[place(c, c + 9)] for c in (a, b)]  # a net with itself is the net alone
            direct = (own[0] + own[1] - ff[place(a, b)]) / 2
            assert abs(direct + af[a][b] / 1000) <= 1_000 - 0.03 * af[a][b] / 1000, (a, b)


@pytest.mark.parametrize("vm", VMS)
def test_a_short_cable_on_both_machines(tmp_path: Path, vm: str) -> None:
    """The same answers to the byte, from the self-test to the capacitances of two metres with four conductors."""
    plugs = {"connectors": ["m12d", "rj45"], "near": "industrial", "far": "industrial"}
    given = bench_tables({"parts": 3}, segment=[{"cable": "2-pair", "length_m": 2.0}], **plugs)
    with Firmware(tmp_path, given, vm) as firmware:
        assert firmware.ask("*TST?") == "0"
        answers = [firmware.measure("TEST:FEAT?"), firmware.measure("MEAS:ARR:RES?")]
        answers.append(firmware.measure("MEAS:ARR:CAP?", "SING", 2))
    assert answers[0] == ["OK", "RES", "LOW", "CAP", "GROUP", "FOREIGN", "WATCH", "SIM"]
    agrees(given, resistances(answers[1]))
    seen = tmp_path.parent / "bench-answers.txt"
    if seen.exists():
        assert seen.read_text() == repr(answers)
    seen.write_text(repr(answers))


@pytest.mark.parametrize(
    ("fault", "bit"),
    [
        ("port near", 32),
        ("port far", 64),
        ("rail", 1),
        ("converter", 2),
        ("amplifier", 8),
        ("multiplexer a", 1),
        ("multiplexer b", 1),
        ("step a", 16),
        ("step b", 16),
        ("up a", 128),
        ("down b", 128),
    ],
)
def test_a_dead_part_is_named_and_nothing_is_driven(tmp_path: Path, fault: str, bit: int) -> None:
    """The tester starts, answers, says what is wrong, refuses to measure and drives no contact."""
    with Firmware(tmp_path, bench_tables({"faults": [fault]})) as firmware:
        assert int(firmware.ask("*TST?")) & bit
        assert firmware.measure("MEAS:ARR:RES?")[0] == "SELFTEST"
        assert not [entry for entry in firmware.driven if entry[1] == "source"]


def test_sound_cables_on_boards_of_worst_parts() -> None:
    """A few of the cables of the long check: no false alarm, true ohms and capacitances."""
    assert "no false" in sound_cables(1, 3)


def test_films_of_3_ohm_and_none() -> None:
    """A few of the cables of the long check: each film is found, and no sound conductor is said to have one."""
    assert films(2, 10).startswith("10 sound cables, no film on any; of 4 films of 3 ohm 4 found")
