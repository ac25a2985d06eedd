"""What the bench board does with voltages that are already there: it says so, and drives no contact."""

from pathlib import Path
from typing import Any

import pytest

from tests.benchmarks.firmware_cycles import counter
from tests.firmware_sim.bench_boards import bench_tables
from tests.firmware_sim.processes import Firmware, run_program, source


def refused(
    tmp_path: Path, *sources: dict[str, Any], **cable: Any
) -> tuple[dict[int, tuple[int, str]], list[list[str]]]:
    """Ask for a scan; return {contact from 0: (millivolts, kind)} of the refusal and every contact driven high."""
    given = bench_tables({"parts": 11, "corner": 1, "leak_na": 100}, **cable)
    given["foreign"] = [*given["foreign"], *sources]
    with Firmware(tmp_path, given) as firmware:
        answer = firmware.measure("MEAS:ARR:RES?")
        high = [entry for entry in firmware.driven if entry[1] == "source"]
    assert answer[0] == "FOREIGN", answer[:3]
    fields = answer[2:]
    assert len(fields) == 3 * int(answer[1])
    return {int(fields[n]) - 1: (int(fields[n + 1]), fields[n + 2]) for n in range(0, len(fields), 3)}, high


LOOSE = {"attached": {"far": "open"}}


@pytest.mark.parametrize("millivolts", [400, 1_500, 3_000, 12_000, 48_000, 57_000])
def test_an_isolated_source_is_named_at_its_upper_contact(tmp_path: Path, millivolts: int) -> None:
    """Between two contacts of a loose cable: the voltage within a tenth, from 4 V on just that much, and no drive."""
    found, high = refused(tmp_path, source(3, 4, millivolts), **LOOSE)
    assert high == []
    assert set(found) == {3}
    value, kind = found[3]
    assert kind == "DC"
    assert abs(value - min(millivolts, 4_000)) <= min(millivolts, 4_000) / 10 + 30


@pytest.mark.parametrize("millivolts", [-400, -2_000, -48_000])
def test_what_lies_below_the_testers_ground_is_seen(tmp_path: Path, millivolts: int) -> None:
    """With UP alone: the low level was before, at 14 mV, and nothing was driven high."""
    found, high = refused(tmp_path, source(5, None, millivolts), **LOOSE)
    assert high == []
    assert found[5][0] < -300


@pytest.mark.parametrize("hertz_50", [350, 3_000])
def test_alternating_voltage_is_told_apart(tmp_path: Path, hertz_50: int) -> None:
    """350 mV and 3 V r.m.s. between two contacts are AC, a tenth right up to where the reading stops."""
    found, high = refused(tmp_path, source(0, 1, hertz_50, "ac"), **LOOSE)
    assert high == []
    assert {kind for _, kind in found.values()} == {"AC"}
    assert all(abs(value - hertz_50) < hertz_50 / 5 for value, _ in found.values())


def test_a_source_that_probes_is_waited_for(tmp_path: Path) -> None:
    """Pulses of 2.8 V for half a second every two seconds (IEEE 802.3, detection, from memory) are PROBE."""
    pulses = source(3, 4, 2_800, "probe", every_us=2_000_000, for_us=500_000, from_us=900_000)
    found, high = refused(tmp_path, pulses, **LOOSE)
    assert high == []
    assert found[3][1] == "PROBE"


def test_a_wet_plug_is_a_cell(tmp_path: Path) -> None:
    """0.5 V behind 20 kohm falls to a seventh when its contact is held low."""
    found, high = refused(tmp_path, source(2, 5, 500, source_ohm=20_000), **LOOSE)
    assert high == []
    assert found[2][1] == "CELL"


def test_a_powered_pair_at_a_cable_that_is_plugged_in_at_both_ends(tmp_path: Path) -> None:
    """48 V on a whole cable, whose other end holds each conductor low through 3.4 kohm: seen all the same."""
    found, high = refused(tmp_path, *[source(a, b, 48_000) for a in (3, 12) for b in (4, 13)])
    assert high == []
    assert {3, 12} <= set(found)


@pytest.mark.parametrize("metres", [2.0, 90.0])
def test_salt_water_in_a_plug_of_a_whole_cable_is_a_cell(tmp_path: Path, metres: float) -> None:
    """0.6 V behind 40 kohm: seen once the low level knows the nets, which float as a whole, before any is high."""
    leak = {"kind": "leak", "conductors": ["orange", "white-green"], "ohm": 40_000.0, "volt": 0.6, "end": "far"}
    found, high = refused(tmp_path, fault=[leak], segment=[{"cable": "UTP", "length_m": metres}])
    assert high == []
    assert set(found) == {1, 10}
    assert {kind for _, kind in found.values()} == {"CELL"}


@pytest.mark.parametrize("cycles", [60, 120])
def test_a_look_lasts_whole_periods_of_the_mains_however_slow_the_chip(tmp_path: Path, cycles: int) -> None:
    """By the estimate of a benchmark, at either end, a window takes 100 ms by the board's clock."""
    look = "import look\nsafety.begin()\nprint(measured(lambda: look.window(True))[0])"
    done = run_program(tmp_path, counter(cycles) + look, bench_tables())
    assert done.returncode == 0, done.stderr
    assert 100_000 <= int(done.stdout) < 102_000
