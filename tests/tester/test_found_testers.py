"""Which testers are connected, and which one is taken where none is named."""

import pytest

from tests.tester.peers import introduction, on_pty
from wiremap.errors import TesterError
from wiremap.tester import line, measure
from wiremap.tester.measure import find_testers, open_tester


def test_ports_are_asked_who_is_there(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every port with the board's USB id is asked; one that is no tester is listed with its reason."""
    with on_pty(introduction()) as mine, on_pty([("*IDN?", b"ACME,SCOPE 3,77,2.1\n")]) as other:
        monkeypatch.setattr(measure, "usb_addresses", lambda: (mine, other, "/dev/ttyACM-none"))
        found = find_testers()
    assert [port.address for port in found] == [mine, other, "/dev/ttyACM-none"]
    assert found[0].tester is not None
    assert found[0].problem is None
    assert found[1].problem is not None
    assert "ACME" in found[1].problem.what
    assert found[2].problem is not None
    assert "no such port" in found[2].problem.what


def test_the_only_tester_found_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without an address the one tester connected is taken; with none, or with two, the error says what to do."""
    monkeypatch.setattr(measure, "usb_addresses", tuple)
    with pytest.raises(TesterError) as none_there, open_tester():
        pass
    assert "sim" in none_there.value.hint
    with on_pty(introduction() + introduction()) as mine:
        monkeypatch.setattr(measure, "usb_addresses", lambda: (mine,))
        with open_tester() as tester:
            assert tester.line.address == mine
    with on_pty(introduction()) as one, on_pty(introduction()) as two:
        monkeypatch.setattr(measure, "usb_addresses", lambda: (one, two))
        with pytest.raises(TesterError, match=f"more than one tester is connected: {one}, {two}"), open_tester():
            pass


def test_a_simulator_that_does_not_start() -> None:
    """When the simulator refuses the cable, its own words stand in the error."""
    with pytest.raises(TesterError) as raised, open_tester("sim:no-such-cable"):
        pass
    assert "no-such-cable" in raised.value.what
    assert "--list" in raised.value.hint


def test_only_the_boards_own_id_is_listed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only serial ports with the board's USB id count; other ports are left alone."""

    class Port:
        def __init__(self, device: str, vid: int | None, pid: int | None) -> None:
            self.device, self.vid, self.pid = device, vid, pid

    ports = [Port("/dev/ttyACM1", 0x2E8A, 5), Port("/dev/ttyS0", None, None), Port("/dev/ttyACM0", 0x2E8A, 5)]
    monkeypatch.setattr("serial.tools.list_ports.comports", lambda: ports)
    assert line.usb_addresses() == ("/dev/ttyACM0", "/dev/ttyACM1")
