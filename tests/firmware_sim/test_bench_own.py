"""What the bench board finds of itself: leakage beside what its model leaks, and the same on both interpreters."""

from pathlib import Path
from typing import Any

import pytest

from tests.firmware_sim.bench_boards import bench_tables
from tests.firmware_sim.processes import VMS, Firmware, need_vm

EMPTY = {"segment": [], "bench": [{"cable": "patch", "plug_at_s": 0.0, "unplug_at_s": 0.0}]}
SIZES = {"LEAK": 18, "COMMON": 2, "OWN": 18, "GROUND": 2, "MIDDLE": 2, "ZERO": 1, "SCALE": 1, "TIMES": 3}


def own(folder: Path, board: dict[str, Any], vm: str = "cpython", **described: Any) -> dict[str, list[int]]:
    """Return the groups of figures that a board answers."""
    need_vm(vm)
    with Firmware(folder, bench_tables(board, **(described or EMPTY)), vm) as firmware:
        if described:
            assert firmware.measure("MEASure:ARRay:RESistance?")[0] == "OK"
        status, *fields = firmware.measure("DIAGnostic:FIGures?")
    assert status == "OK"
    found = {}
    while fields:
        word, count, *fields = fields
        found[word] = [int(value) for value in fields[: int(count)]]
        fields = fields[int(count) :]
    return found


@pytest.mark.parametrize("vm", VMS)
def test_leakage_of_contacts_and_commons(vm: str, tmp_path: Path) -> None:
    """Of a contact's at least 0.8, of a common's 0.6, either way; of a common's leak its contacts show a seventh."""
    found = own(tmp_path, {"leaks": {"D3": 100, "D6": -60, "U5": 150}}, vm)
    assert {word: len(values) for word, values in found.items()} == SIZES
    nanoampere = [value / 1000 for value in found["LEAK"]]
    assert 80 <= nanoampere[2] <= 110
    assert -72 <= nanoampere[5] <= -48
    others = [abs(value) for place, value in enumerate(nanoampere) if place not in (2, 5)]
    assert max(others[:7]) < 3
    assert max(others[7:]) < 150 / 7
    common = [value / 1000 for value in found["COMMON"]]
    assert 90 <= common[1] <= 150
    assert abs(common[0]) < 2
    assert found["OWN"] == [0] * 18
    assert found["TIMES"][1] == 8_000


def test_zero_middle_and_scale_are_the_parts(tmp_path: Path) -> None:
    """Nominal parts: the divider's 3300 of 6333, eleven times 33 of 3300, a floor of 13.5 mV at ground."""
    found = own(tmp_path, {})
    assert [value / 1e6 for value in found["MIDDLE"]] == pytest.approx([3300 / 6333] * 2, abs=1e-3)
    assert found["SCALE"][0] / 1e6 == pytest.approx(11 * 33 / 3300, rel=1e-3)
    assert abs(found["ZERO"][0]) < 1000
    assert [value / 1000 for value in found["GROUND"]] == pytest.approx([13.5, 13.5], abs=4)


def test_drives_are_known_once_a_cable_was_scanned(tmp_path: Path) -> None:
    """Each contact held low: 3 kohm, 330 ohm and a port's 60, to half a percent; one that is 5 % up stands out."""
    found = own(tmp_path, {"off": {"R4": 1_050_000}}, segment=[{"cable": "F/UTP", "length_m": 2.0}])
    ohms = [value / 1000 for value in found["OWN"]]
    assert ohms[3] == pytest.approx(3390 + 150, rel=0.005)
    assert [ohm for place, ohm in enumerate(ohms) if place != 3] == pytest.approx([3390] * 17, rel=0.005)


def test_a_voltage_refuses(tmp_path: Path) -> None:
    """Where something stands at a contact, nothing is driven and no figure given."""
    attached = {"kind": "dc", "contact": "4", "other": "5", "volt": 12.0, "source_ohm": 10.0, "far": "open"}
    with Firmware(tmp_path, bench_tables({}, attached=attached)) as firmware:
        assert firmware.measure("DIAGnostic:FIGures?")[0] == "FOREIGN"
        assert not [line for line in firmware.driven if line[1] == "source"]
