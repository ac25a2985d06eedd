"""The whole way with a bare board: cable, firmware, line, reading, verdict."""

from pathlib import Path

import pytest

from tests.chain.bare_cables import NAMED, BareCase, bare_cables_are_read_rightly, bare_cables_over_a_bad_line, named
from tests.firmware_sim.simulators import simulator
from wiremap.errors import TesterError
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import page
from wiremap.tester.measure import measure, open_tester


@pytest.mark.parametrize("name", ["patch-screened", "blue-reversed", "short-to-screen", "injector-48v", "device-bus"])
def test_named_cables(name: str) -> None:
    """The verdict is what a tester without ohms can give; the page says what it is, and prints no volts or ohms."""
    case = named(name)
    found = case.diagnosis
    assert BareCase(found.verdict, tuple(one.fault for one in found.findings)) == NAMED[name]
    said = " ".join(page(case, Terminal(100, None)).split())
    assert "SIMULATED" in said
    assert "This tester tells joined from open, no ohms: below 10 kohm is joined." in said
    assert said.count("ohm") == said.count("no ohms") + said.count("10 kohm") + said.count("without ohms") + said.count(
        "not ohms"
    ) + said.count("tells ohms")
    assert "2 V" not in said.replace("this tester sees 2 V and more", "")


def test_random_cables() -> None:
    """Two random cables as their wires are, and two over a line that flips and loses bytes (many more in the long)."""
    assert bare_cables_are_read_rightly(11, 2)
    assert bare_cables_over_a_bad_line(12, 2)


def test_a_leak_that_is_taken_for_either_says_what_to_dry(tmp_path: Path) -> None:
    """52 kohm between two conductors, joined to one contact and open to another of the same: an error that helps."""
    cable = """
format = 1
board = "bare-esp32"
seed = 49
near = ["white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown"]
far = ["white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown"]
[[segment]]
cable = "UTP"
length_m = 65.4
[[fault]]
kind = "leak"
conductors = ["green", "white-green"]
end = "far"
ohm = 51592.4
"""
    file = tmp_path / "leaks.toml"
    file.write_text(cable, encoding="utf-8")
    with simulator(cable=file) as (address, _), open_tester(address) as tester, pytest.raises(TesterError) as refused:
        measure(tester)
    assert "joined to" in refused.value.what
    assert "dry them" in refused.value.hint
