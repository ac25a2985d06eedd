"""The bare board: its firmware, as it is flashed, on both virtual machines and with the pins of both chips."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from firmware_sim.board.bare.nodes import CONTACT_PF, LEAD_US
from firmware_sim.launcher import PACKAGE, flashed
from tests.firmware_sim.bare_boards import (
    BARE,
    STRAIGHT,
    bare_tables,
    battery,
    continuity,
    nets_are_read_rightly,
    of_nodes,
    wires_in,
)
from tests.firmware_sim.processes import VMS, Firmware, run_program

MANUAL = (PACKAGE / "README.md").read_text(encoding="utf-8")
CONTINUITY = "MEASure:ARRay:CONTinuity?"
TAGGED = ("TESTer:FEATures?", "TESTer:CONTacts?", "TESTer:RESolution?", "MEASure:VOLTage?", CONTINUITY)
COMMON = ("*IDN?", "*TST?", "*OPC?", "*STB?", "*ESR?", "SYSTem:ERRor?", "SYSTem:VERSion?")
LEAST_HIGH_V, MOST_HIGH_V = 0.8, 2.0  # where a pin of an RP2040 may turn (data sheet, from memory)


@pytest.mark.parametrize("name", BARE)
def test_both_machines_answer_alike(name: str, tmp_path: Path) -> None:
    """Every command, asked of a straight cable of 20 m, is answered with the same bytes on CPython and MicroPython."""
    said = []
    for vm in VMS:
        given = bare_tables(name, segment=[{"cable": "F/UTP", "length_m": 20.0}])
        with Firmware(tmp_path, given, vm) as firmware:
            said.append([firmware.ask(text) for text in COMMON])
            said[-1] += [firmware.ask(f"{text} {tag}") for tag, text in enumerate(TAGGED, 1)]
    assert said[0] == said[1]
    assert wires_in(said[0][-1].split(",")[1:-1]) == STRAIGHT
    assert said[0][0].startswith("WIREMAP,BARE-18,")
    assert said[0][1:7] == ["0", "1", "0", "128", '0,"No error"', "1999.0"]
    assert [line.split(",")[2:-1] for line in said[0][7:11]] == [
        ["CONT", "FOREIGN", "SIM"],
        ["9", "9", *[f'"{name}"' for name in (1, 2, 3, 4, 5, 6, 7, 8, "S")] * 2],
        ["10000000"],
        ["0"],
    ]


@pytest.mark.parametrize(("name", "cable"), [("bare", "straight"), ("bare-esp32", "shorted"), ("bare", "voltage")])
def test_no_contact_is_driven_against_another(name: str, cable: str, tmp_path: Path) -> None:
    """Whatever is asked: at most one contact is ever high, and then at most one low; both behind their 68 kohm."""
    links = dict.fromkeys(STRAIGHT, 0.3) | ({(0, 1): 0.1, (3, 8): 0.1} if cable == "shorted" else {})
    foreign = [battery(4, None, 12.0)] if cable == "voltage" else []
    with Firmware(tmp_path, of_nodes(links, name, foreign=foreign), "cpython") as firmware:
        for tag, text in enumerate((*TAGGED, *TAGGED), 1):
            firmware.ask(f"{text} {tag}")
        for text in (*COMMON, "*RST;*OPC?", "*CLS;*OPC?"):
            firmware.ask(text)
        held = [(int(high), int(low)) for _, what, high, low in firmware.driven if what == "hold"]
    assert len(held) > 100
    for high, low in held:
        assert high.bit_count() <= 1
        assert not high or low.bit_count() <= 1
    assert any(high for high, _ in held) == (cable != "voltage")
    assert held[-1] == (0, 0)  # and nothing stays driven
    assert 3.3 * LEAD_US / 2 < 25  # microamperes from the one to the other


@pytest.mark.parametrize(
    ("name", "length_m", "threshold_v"),
    [
        ("bare", 2.0, LEAST_HIGH_V),
        ("bare", 90.0, LEAST_HIGH_V),
        ("bare", 20.0, MOST_HIGH_V),
        ("bare-esp32", 2.0, 2.475),  # three quarters of 3.3 V
        ("bare-esp32", 90.0, 2.475),
        ("bare-esp32", 20.0, 0.825),
    ],
)
def test_what_is_joined_and_what_only_leaks(name: str, length_m: float, threshold_v: float, tmp_path: Path) -> None:
    """Through 10 kohm joined, through 1 Mohm not, from 20 m up through 200 kohm not; wherever a pin turns to high."""
    for ohm, joined in ((10_000.0, True), (200_000.0, False), (1e6, False)):
        if ohm < 1e6 and not joined and length_m < 20:
            continue  # a reading takes too long to tell
        fault = [{"kind": "leak", "conductors": ["blue", "brown"], "end": "near", "ohm": ohm}]
        segment = [{"cable": "UTP", "length_m": length_m}]
        given = bare_tables(name, {"threshold_v": threshold_v}, segment=segment, fault=fault)
        found = wires_in(continuity(tmp_path, given))
        wanted = {(a, a + 9) for a in range(8)} | ({(3, 7), (3, 16), (7, 12), (12, 16)} if joined else set())
        assert found == wanted, ohm


@pytest.mark.parametrize(("leak_na", "pf"), [(0.0, 1.0), (1000.0, 1.0), (100.0, 300.0)])
def test_a_pin_that_leaks_joins_nothing(leak_na: float, pf: float, tmp_path: Path) -> None:
    """Up to a microampere lifts an empty contact within 50 us, and is read neither as a joint nor as a voltage."""
    links = {(a, b): 0.3 for a, b in STRAIGHT if a != 4}
    found = wires_in(continuity(tmp_path, of_nodes(links, board={"leak_na": leak_na}, pf=pf)))
    assert found == {pair for pair in STRAIGHT if pair[0] != 4}


@pytest.mark.parametrize("name", BARE)
def test_an_empty_socket_with_a_leak_is_not_joined(name: str, tmp_path: Path) -> None:
    """Through 1 Mohm, wet plugs in sockets without a cable, contacts are not joined, as the manual says."""
    assert "| more than 1 Mohm | not joined |" in MANUAL
    assert "| up to 10 kohm | joined |" in MANUAL
    for pf in (1.0, 5000.0):
        given = of_nodes({(0, 1): 1e6, (4, 13): 1e6, (2, 11): 10_000.0}, name, pf=pf)
        assert wires_in(continuity(tmp_path, given)) == {(2, 11)}


def test_a_pin_that_is_broken_is_named(tmp_path: Path) -> None:
    """A contact that something on the board holds low is refused by its number, in a scan and in the self-test."""
    given = of_nodes({(a, b): 0.3 for a, b in STRAIGHT if a != 2}, board={"faults": ["low 2"]})
    with Firmware(tmp_path, given) as firmware:
        assert firmware.measure(CONTINUITY) == ["SELFTEST", "1", "3"]
        assert firmware.ask("*TST?") == "1"
        assert firmware.ask("SYSTem:ERRor?") == '-330,"Self-test failed;1"'


@pytest.mark.parametrize(
    ("name", "sources", "seen"),
    [
        ("bare", [battery(3, None, 2.0)], {(4, "DC")}),
        ("bare-esp32", [battery(3, None, 57.0)], {(4, "DC")}),
        ("bare", [battery(3, 5, 4.6)], {(4, "DC")}),
        ("bare", [battery(3, 5, 57.0), battery(2, 6, 57.0)], {(4, "DC"), (3, "DC")}),
        ("bare", [battery(11, None, 5.0, "ac")], {(12, "AC")}),
        ("bare", [battery(3, 5, 0.7)], set[tuple[int, str]]()),
    ],
)
def test_voltages_of_two_volts_are_seen(
    name: str, sources: list[dict[str, Any]], seen: set[tuple[int, str]], tmp_path: Path
) -> None:
    """More than a pin needs is refused by contact and kind, and nothing is driven high; less than 0.8 V is not seen."""
    given = of_nodes({}, name, foreign=sources)
    with Firmware(tmp_path, given) as firmware:
        answer = firmware.measure(CONTINUITY)
        if not seen:
            assert answer[0] == "OK"
            return
        assert answer[:2] == ["FOREIGN", str(len(seen))]
        assert {(int(a), kind) for a, _, kind in zip(*[iter(answer[2:])] * 3, strict=True)} == seen
        assert not any(int(high) for _, what, high, _ in firmware.driven if what == "hold")
        assert firmware.measure("MEASure:VOLTage?")[1] == str(len(seen))


def test_a_source_that_is_too_low_to_be_seen_holds_its_contact(tmp_path: Path) -> None:
    """A cell of 0.7 V against ground is no voltage to a pin; its contact does not come up, and is refused by name."""
    assert continuity(tmp_path, of_nodes({}, foreign=[battery(3, None, 0.7)])) == ["SELFTEST", "1", "4"]


def test_random_nets_are_read_rightly(tmp_path: Path) -> None:
    """Random nets, on empty sockets and long cables, on either chip (many more in the long checks)."""
    assert nets_are_read_rightly(5, 6, tmp_path)


def test_the_loop_that_stops_lets_go(tmp_path: Path) -> None:
    """A program that hangs with a contact high is ended by the watchdog after 4 s, and nothing is driven then."""
    program = """
import safety, pins, time, watchdog
from firmware_sim.board.clock import WatchdogReset
from firmware_sim.board.power import board, clock
safety.begin()
watchdog.watch_over()
pins.high(3)
try:
    time.sleep_ms(5000)
except WatchdogReset:
    print("reset", clock.now_us // 1000000, board.directions)
"""
    done = run_program(tmp_path, program, of_nodes({}))
    assert done.stdout.split() == ["reset", "5", "0"], done.stderr


def two_terminal(matrix: "np.ndarray[Any, Any]", a: int, b: int) -> float:
    """Return what lies between two nodes of a network, given its matrix of conductances or capacitances, inverted."""
    inverse = np.linalg.pinv(matrix)
    return float(inverse[a, a] + inverse[b, b] - 2 * inverse[a, b])


def square(values: list[int]) -> "np.ndarray[Any, Any]":
    """Return the matrix of a network given by what joins every two of 18 nodes."""
    links = np.zeros((18, 18))
    links[np.triu_indices(18, 1)] = values
    links += links.T
    return np.diag(links.sum(axis=1)) - links


def test_the_nodes_are_the_cable() -> None:
    """Conductances and capacitances between nodes show between any two contacts what the cable's other tables say."""
    fault = [{"kind": "leak", "conductors": ["blue", "brown"], "end": "far", "ohm": 50_000.0}]
    for length_m in (1.0, 40.0):
        given = bare_tables(segment=[{"cable": "F/UTP", "length_m": length_m}], fault=fault)
        network, nodes = given["networks"][0], given["networks"][0]["nodes"]
        siemens = square(nodes["ps"]) / 1e12
        for (a, b), milliohm in zip(zip(*np.triu_indices(18, 1), strict=True), network["milliohm"], strict=True):
            if milliohm is None or milliohm > 1e9:
                assert np.isclose(0, siemens[a, b]) or milliohm is not None
                continue
            assert two_terminal(siemens, int(a), int(b)) == pytest.approx(milliohm / 1000, rel=2e-3, abs=1e-3)
        lump, pin_pf = nodes["lump"], 10.0
        pf = np.array(nodes["af"]) / 1e6
        for contact in range(18):
            pf[lump[contact], lump[contact]] += pin_pf
        pairs = given["capacitances"][network["capacitance"]]["pair_ff"]
        for (a, b), femtofarad in zip(zip(*np.triu_indices(18, 1), strict=True), pairs, strict=True):
            if femtofarad is not None and lump[a] != lump[b]:  # the first driven, the second low, all others floating
                left = [n for n in range(len(pf)) if n != lump[b]]
                seen_pf = 1 / np.linalg.inv(pf[np.ix_(left, left)])[left.index(lump[a]), left.index(lump[a])]
                assert seen_pf == pytest.approx(femtofarad / 1000, rel=0.02, abs=0.05), (length_m, a, b)


def test_a_contact_charges_as_a_resistor_and_a_capacitor_do(tmp_path: Path) -> None:
    """An empty contact turns high after R C ln(V / (V - V_high)), to the step in which its own time is sought."""
    program = "import safety, selftest\nsafety.begin()\nselftest.weigh()\nprint(*selftest.weighed)\n"
    for pf, volt in ((300.0, 1.65), (3000.0, 2.0), (20.0, 1.0)):
        given = of_nodes({}, board={"threshold_v": volt, "leak_na": 0.0}, pf=pf)
        done = run_program(tmp_path, program, given)
        true_us = (pf + CONTACT_PF) / LEAD_US * float(np.log(3.3 / (3.3 - volt)))
        for us in map(int, done.stdout.split()):
            assert true_us - 5 <= us <= true_us * 1.13 + 1, (us, true_us, done.stderr)


@pytest.mark.parametrize("length_m", [1.0, 100.0])
def test_a_scan_takes_as_long_as_the_manual_says(length_m: float, tmp_path: Path) -> None:
    """By the board's own waits, from the first look to the last: 1.0 to 1.2 s."""
    assert "A scan takes 1.0 to 1.2 s" in MANUAL
    with Firmware(tmp_path, bare_tables(segment=[{"cable": "UTP", "length_m": length_m}])) as firmware:
        firmware.measure(CONTINUITY)
        times = [int(at) for at, *_ in firmware.driven]
    assert 1_000_000 <= times[-1] - times[0] <= 1_200_000


def test_few_files_are_flashed() -> None:
    """Thirteen files, flat, each board its own table of pins: no two of a name, none that another board measures by."""
    for name in BARE:
        files = flashed(name)
        assert len({path.name for path in files}) == len(files) == 13
        assert "contacts.py" in {path.name for path in files}
    tables = [next(path for path in flashed(name) if path.name == "contacts.py").read_text() for name in BARE]
    assert tables[0] != tables[1]
    shared = [{path for path in flashed(name) if path.name != "contacts.py"} for name in BARE]
    assert shared[0] == shared[1]
