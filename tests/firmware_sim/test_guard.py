"""What must be true before anything is driven; the board itself notes what was."""

from pathlib import Path

import pytest

from tests.firmware_sim.processes import OPEN, VMS, Firmware, N, run_program, source, straight, tables

QUESTIONS: list[tuple[str, *tuple[object, ...]]] = [
    ("MEAS:ARR:RES?",),
    ("MEAS:ARR:RES:LOW?",),
    ("MEAS:ARR:CAP?", "PAIR", 1),
    ("MEAS:ECHO?", 1, 2, 50, 1),
    ("MEAS:TRAC?", 1, 2),
    ("WATC:STAR?",),
]


def names(status: list[str]) -> dict[int, tuple[int, str]]:
    """Return contact: (millivolts, kind) from a refusal, contacts from 1."""
    assert status[0] == "FOREIGN"
    fields = status[2:]
    assert len(fields) == 3 * int(status[1])
    return {int(fields[i]): (int(fields[i + 1]), fields[i + 2]) for i in range(0, len(fields), 3)}


@pytest.mark.parametrize("vm", VMS)
@pytest.mark.parametrize("millivolts", [48_000, 24_000, 12_000, -12_000, 500, 57_000])
def test_a_direct_voltage_between_two_contacts_stops_every_measurement(
    tmp_path: Path, vm: str, millivolts: int
) -> None:
    """With a battery or a passive injector on the cable nothing is driven, and contact and voltage are named."""
    low_ohm = source(2, 12, millivolts, source_ohm=1)
    with Firmware(tmp_path, tables({(2, 11): 280, (3, 12): 280}, foreign=[low_ohm]), vm) as firmware:
        for question in QUESTIONS if vm == "cpython" else QUESTIONS[:1]:
            found = names(firmware.measure(*question))
            assert set(found) == {3, 13}
            for contact, sign in ((3, 1), (13, -1)):
                seen, kind = found[contact]
                assert kind == "DC"
                assert abs(seen - sign * millivolts) < 60 + abs(millivolts) // 50
        assert [entry for entry in firmware.driven if entry[1] != "load"] == []
        assert bool(firmware.driven) == (millivolts == 500)  # only what could be a wet plug is loaded, with 10 kohm


@pytest.mark.parametrize("contact", range(N))
def test_a_voltage_against_the_testers_own_ground_is_named_on_any_contact(tmp_path: Path, contact: int) -> None:
    """12 V on one contact, returning through the tester's ground, is refused wherever it is."""
    with Firmware(tmp_path, tables(straight(), foreign=[source(contact, None, 12_000)])) as firmware:
        found = names(firmware.measure("MEAS:ARR:RES?"))
        assert list(found) == [contact + 1]
        seen, kind = found[contact + 1]
        assert kind == "DC"
        assert abs(seen - 12_000) < 250
        assert firmware.driven == []


@pytest.mark.parametrize("contact", range(0, N - 1, 2))
def test_an_isolated_voltage_is_found_between_any_two_contacts(tmp_path: Path, contact: int) -> None:
    """A source that shows only between two contacts is found by the look at every pair of them."""
    other = (contact + 5) % N
    with Firmware(tmp_path, tables(foreign=[source(contact, other, 24_000)])) as firmware:
        found = names(firmware.measure("MEAS:ARR:RES?"))
        assert set(found) == {contact + 1, other + 1}
        assert firmware.driven == []


def test_an_isolated_injector_between_two_pairs_is_named_on_all_its_contacts(tmp_path: Path) -> None:
    """48 V with plus on 4 and 5 and minus on 7 and 8, tied to nothing else, is seen on all of them."""
    foreign = [source(plus, minus, 48_000) for plus in (3, 4) for minus in (6, 7)]
    with Firmware(tmp_path, tables({(3, 4): 700, (6, 7): 700}, foreign=foreign)) as firmware:
        found = names(firmware.measure("MEAS:ARR:RES?"))
        assert {contact: kind for contact, (_, kind) in found.items()} == dict.fromkeys((4, 5, 7, 8), "DC")
        for contact, sign in ((4, 1), (5, 1), (7, -1), (8, -1)):
            assert abs(found[contact][0] - sign * 48_000) < 1000
        assert firmware.driven == []


def test_an_alternating_voltage_is_reported_apart(tmp_path: Path) -> None:
    """12 V a.c. is refused as such, by its r.m.s. value, though its average over 100 ms is nothing."""
    with Firmware(tmp_path, tables(foreign=[source(1, None, 12_000, "ac")])) as firmware:
        seen, kind = names(firmware.measure("MEAS:ARR:RES?"))[2]
        assert kind == "AC"
        assert abs(seen - 12_000) < 400
        assert firmware.driven == []


@pytest.mark.parametrize("phase_us", range(0, 2_000_000, 400_000))
@pytest.mark.parametrize("millivolts", [2_800, 10_000])
def test_a_source_that_probes_for_a_device_is_waited_for(tmp_path: Path, phase_us: int, millivolts: int) -> None:
    """Detection pulses of 2.8 to 10 V (IEEE 802.3, from memory) are met before anything is driven, in any phase."""
    pulses = {"from_us": phase_us, "for_us": 400_000, "every_us": 2_000_000, "source_ohm": 45_000}
    foreign = [source(plus, minus, millivolts, "probe", **pulses) for plus in (2, 5) for minus in (0, 1)]
    with Firmware(tmp_path, tables({(2, 5): 900, (0, 1): 900}, foreign=foreign)) as firmware:
        found = names(firmware.measure("MEAS:ARR:RES?"))
        assert {kind for _, kind in found.values()} == {"PROBE"}
        assert set(found) == {1, 2, 3, 6}
        assert firmware.driven == []


@pytest.mark.parametrize("pair", [(0, 1), (2, 5), (3, 4), (6, 7), (9, 10), (11, 14), (12, 13), (15, 16), (1, 2)])
def test_a_live_link_is_heard_on_any_pair(tmp_path: Path, pair: tuple[int, int]) -> None:
    """Link pulses of 100 ns every 16 ms (10BASE-T, from memory) are heard, even where the pair is a split one."""
    with Firmware(tmp_path, tables(foreign=[source(*pair, 1_000, "link")])) as firmware:
        found = names(firmware.measure("MEAS:ARR:RES?"))
        assert {kind for _, kind in found.values()} == {"LINK"}
        assert set(found) & {contact + 1 for contact in pair}
        assert firmware.driven == []


def test_a_sleeping_port_is_heard_where_windings_are_seen(tmp_path: Path) -> None:
    """A port that pulses once a second is met before more than the probe's 0.3 mA goes through its windings."""
    sleeping = source(0, 1, 1_000, "link", from_us=3_700_000, for_us=16_000, every_us=1_000_000)
    loops: dict[tuple[int, int], int | None] = {(0, 1): 1_200, (2, 5): 1_200, (3, 4): 1_200, (6, 7): 1_200}
    with Firmware(tmp_path, tables(loops, foreign=[sleeping])) as firmware:
        found = names(firmware.measure("MEAS:ARR:RES?"))
        assert found[1][1] == "LINK"


@pytest.mark.parametrize("vm", VMS)
@pytest.mark.parametrize("millivolts", [450, -600])
def test_a_salt_wet_plug_is_a_cell_and_no_source(tmp_path: Path, vm: str, millivolts: int) -> None:
    """A voltage under 1 V that collapses under 10 kohm is leakage: named as a cell, and not driven."""
    wet = source(1, 2, millivolts, "cell", source_ohm=30_000)
    with Firmware(tmp_path, tables({(1, 2): 30_000_000}, foreign=[wet]), vm) as firmware:
        found = names(firmware.measure("MEAS:ARR:RES?"))
        assert {contact: kind for contact, (_, kind) in found.items()} == {2: "CELL", 3: "CELL"}
        assert [entry for entry in firmware.driven if entry[1] != "load"] == []


def test_a_weak_cell_is_measured_through(tmp_path: Path) -> None:
    """A cell of 0.1 V is under the limit: the scan goes on, and its leakage is seen."""
    wet = source(1, 2, 100, "cell", source_ohm=30_000)
    with Firmware(tmp_path, tables(straight() | {(1, 2): 30_000_000}, foreign=[wet])) as firmware:
        answer = firmware.measure("MEAS:ARR:RES?")
        assert answer[0] == "OK"


PORTS: dict[str, dict[tuple[int, int], int | None]] = {
    "four pairs": {(0, 1): 1_500, (2, 5): 1_500, (3, 4): 1_400, (6, 7): 1_600},
    "two pairs": {(0, 1): 1_500, (2, 5): 1_500},
    "unused pairs tied": {
        (0, 1): 1_500,
        (2, 5): 1_500,
        (3, 4): 100,
        (6, 7): 100,
        (3, 6): 150_000,
        (3, 7): 150_000,
        (4, 6): 150_000,
        (4, 7): 150_000,
    },
}


@pytest.mark.parametrize("vm", VMS)
@pytest.mark.parametrize("port", PORTS)
@pytest.mark.parametrize("end", [0, 9])
def test_equipment_left_attached_never_gets_the_full_current(tmp_path: Path, vm: str, port: str, end: int) -> None:
    """An unpowered port is recognised by its windings: the scan is the probe's, and nothing else is measured."""
    milliohm = {(a + end, b + end): value for (a, b), value in PORTS[port].items()}
    with Firmware(tmp_path, tables(milliohm), vm) as firmware:
        answer = firmware.measure("MEAS:ARR:RES?")
        assert answer[0] == "OK"
        seen = dict(zip([(a, b) for a in range(N) for b in range(a + 1, N)], answer[2:], strict=True))
        for pair, value in seen.items():
            if pair in milliohm:
                assert abs(int(value) - (milliohm[pair] or 0)) < 4_000, pair
            else:
                assert value == OPEN
        highest = max(int(b) for _, what, _, b in firmware.driven if what == "source")
        assert highest < N
        driven = len(firmware.driven)
        assert set(firmware.measure("MEAS:ARR:CAP?", "PAIR", 1)[6:]) == {"9.91E37"}
        assert firmware.measure("MEAS:ECHO?", 1, 2)[4:] == ["0", "0"]
        assert firmware.measure("MEAS:TRAC?", 1, 2)[3:] == ["0"]
        assert len(firmware.driven) == driven
        assert firmware.measure("WATC:STAR?") == ["EQUIPMENT"]


def test_a_loopback_plug_is_a_cable_and_no_equipment(tmp_path: Path) -> None:
    """Pairs joined to each other (1-3, 2-6) are no windings: full current goes through."""
    with Firmware(tmp_path, tables({(0, 2): 200, (1, 5): 200})) as firmware:
        answer = firmware.measure("MEAS:ARR:RES?")
        assert abs(int(answer[2 + 1]) - 200) <= 20


def test_a_voltage_that_comes_during_the_scan_stops_it(tmp_path: Path) -> None:
    """The look after each row of a scan meets a voltage that was not there before; nothing is driven after it."""
    late = source(4, 6, 12_000, from_us=3_500_000)
    with Firmware(tmp_path, tables(straight(), foreign=[late])) as firmware:
        assert names(firmware.measure("MEAS:ARR:RES?"))[5][1] == "DC"
        last = int(firmware.driven[-1][0])
        assert last < 3_500_000 + 60_000  # one row of the slowest scan


def test_a_look_at_voltages_drives_nothing(tmp_path: Path) -> None:
    """MEASure:VOLTage? names what it sees and drives nothing, on a cable as on a battery."""
    with Firmware(tmp_path, tables(straight(), foreign=[source(0, 1, 12_000)])) as firmware:
        found = firmware.measure("MEAS:VOLT?")
        assert found[:3] == ["OK", "2", "1"]
        assert firmware.driven == []
    with Firmware(tmp_path, tables(straight())) as firmware:
        assert firmware.measure("MEAS:VOLT?") == ["OK", "0"]
        assert firmware.driven == []


@pytest.mark.parametrize(("fault", "mask"), [("reference", 1), ("converter", 2), ("link", 4)])
def test_a_tester_that_is_not_sound_drives_nothing(tmp_path: Path, fault: str, mask: int) -> None:
    """A failed self-test refuses before anything else, with the bits that say what failed."""
    with Firmware(tmp_path, tables(straight(), faults=[fault])) as firmware:
        assert int(firmware.ask("*TST?")) & mask
        assert firmware.ask("SYST:ERR?").startswith('-330,"Self-test failed;')
        status, seen = firmware.measure("MEAS:ARR:RES?")
        assert status == "SELFTEST"
        assert int(seen) & mask
        assert firmware.driven == []


@pytest.mark.parametrize("vm", VMS)
def test_force_is_off_and_nothing_tied_after_every_answer(tmp_path: Path, vm: str) -> None:
    """Whatever was measured, in the end no contact is fed, loaded or tied."""
    program = """
import queries, safety, commands, scpi
safety.begin()
parser = commands.parser(scpi.Status())
from firmware_sim.board.power import board
stand = board.switchboard
for message in ("MEAS:ARR:RES? 1", "MEAS:ARR:CAP? 2,DOUB,1", "MEAS:ECHO? 3,1,2,50,2", "MEAS:ECHO? 3,1,20",
                "MEAS:ARR:CAP? 4,FOO", "WATC:STAR? 5;STOP? 6", "*RST", "MEAS:VOLT? 7"):
    parser.obey(message)
    print(stand.pin(12), stand.live(), stand.closed(), stand.tied())
"""
    done = run_program(tmp_path, program, tables(straight()), vm)
    assert done.stdout.split("\n")[:-1] == ["0 0 0 0"] * 8, done.stderr


def test_a_scan_ends_with_every_contact_brought_down(tmp_path: Path) -> None:
    """After the last drive of a scan all contacts are tied low for a millisecond, and then let go."""
    with Firmware(tmp_path, tables(straight())) as firmware:
        firmware.measure("MEAS:ARR:RES?")
        ties = [entry for entry in firmware.driven if entry[1] == "tie"]
        assert firmware.driven[-1] == ties[-1]
        assert int(ties[-1][2]) == (1 << N) - 1


@pytest.mark.parametrize("vm", VMS)
def test_the_watchdog_takes_force_off_when_the_loop_stops(tmp_path: Path, vm: str) -> None:
    """A loop that hangs with the source on is ended by the chip's reset after 4 s, and nothing is driven then."""
    program = """
import safety, scan, pins, time, watchdog
from firmware_sim.board.clock import WatchdogReset
from firmware_sim.board.power import board, clock
stand = board.switchboard
safety.begin()
watchdog.watch_over()
scan._drive(pins.FULL)
pins.select(0, 16)
print(stand.pin(12), stand.pin(14))
try:
    while True:
        time.sleep_ms(10)
except WatchdogReset:
    print(clock.now_us // 100000, stand.pin(12), stand.pin(14), stand.tied(), stand.closed())
"""
    done = run_program(tmp_path, program, tables(straight()), vm)
    assert done.stdout.splitlines() == ["1 1", "40 0 0 0 0"], done.stderr
