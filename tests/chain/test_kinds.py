"""Lengths of the simulator's kinds of cable, through the line, with the kind told and untold: two sets of figures."""

import pytest

from tests.judge.simulated import described, measured_reading
from wiremap.cable.patterns import pattern
from wiremap.judge.verdict import Options, judge
from wiremap.records.own_kinds import kind_called

# What the simulator calls a kind, and the name that a user would give.
KINDS = {
    "UTP": "cat5e-utp",
    "F/UTP": "cat5e-futp",
    "S/FTP": "cat7-sftp",
    "U/FTP": "cat6a-uftp",
    "cord": "cord-utp",
    "slim": "slim-utp",
}


@pytest.mark.parametrize("length_m", [1.0, 6.0, 30.0])
@pytest.mark.parametrize("cable", KINDS)
def test_a_sound_cable_passes_and_its_length_is_held(cable: str, length_m: float) -> None:
    """No fault is seen in a sound cable of any kind, told or not, and its 95 % interval holds the length."""
    screen = "" if cable in ("UTP", "cord", "slim") else 'screen = "joined"'
    reading = measured_reading(described(length_m, kind=cable, top=screen))
    for told in (None, kind_called(KINDS[cable])):
        found = judge(reading, pattern("straight"), Options(kind=told))
        assert found.verdict == "pass", (cable, told, found.findings)
        whole = found.lengths[-1]
        assert whole.low_m < length_m < whole.high_m, (cable, told and told.name, whole.low_m, whole.high_m)
