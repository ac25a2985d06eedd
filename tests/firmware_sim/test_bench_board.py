"""The bench board's model against numbers worked by hand, and against another way to solve the same circuit."""

import math
import random
import statistics
from dataclasses import asdict

import numpy as np
import pytest

from firmware_sim.board.bench import values
from firmware_sim.board.bench.board import PORT_US
from firmware_sim.board.bench.chips import Port
from firmware_sim.board.bench.nodes import STEP_US
from firmware_sim.board.bench.solving import Settling, steady
from firmware_sim.board.clock import WatchdogReset
from firmware_sim.hardware.bench import bench
from firmware_sim.hardware.values import bench_values
from tests.firmware_sim.bench_boards import ALL, DOWN_A, PEDESTAL, SELECT, STEP, UP_A, UP_B, Driven

EVERY = ALL | ALL << 9
BUILT = asdict(bench_values(bench()))
STEP_PF, SENSE_OHM = 220.0, 22_000.0
RAIL = values.SUPPLY_V - values.RAIL_DROP_V
LOW, HIGH = 3_390.0, 3_420.0  # 3.0k, 330 and the port's own 60 or 90


def test_half_the_rail_stands_at_a_driven_conductor() -> None:
    """High at one end, low at the other: 3.298 V x 3390 / 6810 = 1.642 V at the far end, half a milliampere through."""
    made = Driven()
    made.look_at(0, 0)
    made.drive(low=EVERY & ~1, high=1)
    volts = made.after(2_000)
    ohm = 1e12 / made.tables["networks"][0]["nodes"]["ps"][8]
    current = RAIL / (LOW + HIGH + ohm)
    assert volts[9] == pytest.approx(current * LOW, rel=1e-4)
    assert volts[0] - volts[9] == pytest.approx(current * ohm, rel=1e-4)
    assert volts[18] == pytest.approx(volts[0], rel=1e-4)
    assert volts[21] == pytest.approx(volts[9], rel=1e-4)


def test_the_low_level_is_13_6_millivolts() -> None:
    """10 ohm of 2410 lift the near ground by 3.3 V / 241 = 13.69 mV; a joint leaves half of it at either end."""
    made = Driven(near=["-", *["white-orange", "orange", "blue", "white-blue", "green", "white-brown", "brown"]])
    made.lift(True)
    volts = made.after(2_000)
    assert volts[0] == pytest.approx(3.3 / 241, rel=1e-3)  # the contact that the plug leaves empty
    assert volts[1] == pytest.approx(3.3 / 482, rel=1e-2)
    assert max(map(abs, volts[:18])) < 0.020  # IEC 60512-2-1, from memory


def test_a_pull_meets_a_low_contact_and_an_open_one() -> None:
    """UP 100k on a low contact: 3.3 V x 25.5k / 125.5k at the common; a floating open one goes to the supply."""
    made = Driven(segment=[{"cable": "UTP", "length_m": 2.0}], attached={"far": "open"})
    made.look_at(2, 15)
    made.pull(up=UP_A)
    behind = LOW + SENSE_OHM + values.SWITCH_OHM
    assert made.after(2_000)[18] == pytest.approx(3.3 * behind / (behind + 100e3), rel=1e-3)
    made.drive(low=EVERY & ~(1 << 2))
    assert made.after(5_000)[18] == pytest.approx(3.3, rel=2e-3)
    made.pull(down=DOWN_A)
    assert abs(made.after(5_000)[18]) < 0.002


@pytest.mark.parametrize("ohm", [50_000, 1_000_000])
def test_a_leak_lifts_its_neighbour(ohm: int) -> None:
    """From a driven net of two contacts over the leak into a contact held by 3.39 kohm: the divider's voltage."""
    leak = {"kind": "leak", "conductors": ["orange", "white-green"], "ohm": ohm, "end": "far"}
    made = Driven(fault=[leak])
    pair, other = 1 << 1 | 1 << 10, 1 << 2 | 1 << 11
    made.look_at(2, 15)
    made.drive(low=EVERY & ~pair & ~other | 1 << 2, high=pair)
    assert made.after(3_000)[2] == pytest.approx(RAIL * LOW / (LOW + ohm + HIGH / 2), rel=2e-3)


def test_the_bridge_weighs_a_pair_against_the_known_capacitor() -> None:
    """C = 220 pF x (what the partner's step lifts) / (what STEP lifts), within half a percent of the cable's own."""
    made = Driven(segment=[{"cable": "UTP", "length_m": 20.0}])
    net, partner = 1 | 1 << 9, 1 << 1 | 1 << 10
    made.look_at(0, 15)
    made.drive(low=EVERY & ~net)
    made.board.advance(300)
    levels = []
    for steps in (PEDESTAL, PEDESTAL | STEP):
        made.drive(low=EVERY & ~net, near_steps=steps)
        levels.append(made.after(300)[18])
    made.drive(low=EVERY & ~net & ~partner, high=partner, near_steps=PEDESTAL | STEP)
    levels.append(made.after(300)[18])
    pf = -made.tables["networks"][0]["nodes"]["af"][0][1] / 1e6
    found = STEP_PF * (levels[2] - levels[1]) / (levels[1] - levels[0])
    assert pf > 600
    assert found == pytest.approx(pf, rel=5e-3)


def test_what_settles_agrees_with_a_solution_by_eigenvectors() -> None:
    """The voltages on the way, at net level, against C v' = -G v solved by numpy: within 2 % of the step."""
    made = Driven(segment=[{"cable": "F/UTP", "length_m": 90.0}], screen="near")
    described = made.tables["networks"][0]["nodes"]
    lump, size = described["lump"], len(described["af"])
    c = np.array(described["af"]) / 1e6
    g = np.zeros((size, size))
    for contact in range(18):
        c[lump[contact], lump[contact]] += values.CONTACT_PF
        g[lump[contact], lump[contact]] += 1e6 / LOW
    push = np.zeros(size)
    push[lump[0]] = RAIL * 1e6 / HIGH
    final = np.linalg.solve(g, push)
    rates, vectors = np.linalg.eig(np.linalg.solve(c, g))
    weights = np.linalg.solve(vectors, -final)
    made.drive(low=EVERY & ~1, high=1)
    seen_us = PORT_US  # the far port was written after the near one
    for us in (35, 45, 60, 100, 300):
        volts = made.after(us - seen_us)
        seen_us = us
        want = (final + vectors @ (weights * np.exp(-rates * us))).real
        for contact in range(18):
            assert volts[contact] == pytest.approx(want[lump[contact]], abs=0.033), (us, contact)


def test_one_resistor_and_one_capacitor_settle_as_the_exponential() -> None:
    """After half, one, three and seven time constants, a thousandth from exp(-t/RC)."""
    settling = Settling([[1 / 20]], STEP_US)
    for us in (12, 20, 60, 140):
        assert settling.after([1.0], us // STEP_US)[0] == pytest.approx(math.exp(-us / 20), rel=1e-3)
    assert settling.after([1.0], 1 << 30)[0] == 0.0


def test_a_network_of_resistors_is_solved_as_numpy_does() -> None:
    """Random networks from 10 mohm to 1 Mohm: node voltages as numpy's."""
    draw = random.Random(5)
    for _ in range(20):
        size = 6
        matrix = np.zeros((size, size))
        links: list[dict[int, float]] = [{} for _ in range(size)]
        for i in range(size):
            for j in range(i):
                if draw.random() < 0.6:
                    us = 10 ** draw.uniform(0, 6)
                    links[i][j] = links[j][i] = us
                    matrix[i, j] -= us
                    matrix[j, i] -= us
                    matrix[i, i] += us
                    matrix[j, j] += us
        ground = [10 ** draw.uniform(1, 3) for _ in range(size)]
        driven = [draw.uniform(-1, 1) * 1e3 for _ in range(size)]
        want = np.linalg.solve(matrix + np.diag(ground), driven)
        assert steady(links, list(ground), list(driven)) == pytest.approx(want.tolist(), rel=1e-6, abs=1e-9)


def test_the_chips_converter_jumps_where_it_is_said_to() -> None:
    """A ramp of the common shows 8 codes missing at each of four places, 3 counts of offset and 1.2 of noise."""
    made = Driven()
    made.look_at(11, 15)
    made.board.advance(1_000)
    readings = [made.board.converted(0) for _ in range(2_000)]
    floor = values.FLOOR_V / 3.3 * 4096 + values.OFFSET_COUNTS
    assert statistics.fmean(readings) == pytest.approx(floor * (1 - 32 / 4096), abs=0.1)
    assert statistics.stdev(readings) == pytest.approx(1.23, abs=0.1)
    made.look_at(9, 15)
    made.board.advance(1_000)
    volts = RAIL * 3333 / 6333
    want = (volts / 3.3 * 4096 + 3) * (1 - 32 / 4096) + 16  # above two of the four jumps
    assert statistics.fmean(made.board.converted(0) for _ in range(500)) == pytest.approx(want, abs=0.3)


def test_the_fine_converter_averages_what_changes_while_it_converts() -> None:
    """A conversion half of which sees the upper end and half ground reads half; one undisturbed reads all."""
    made = Driven()
    made.look_at(9, 9)
    made.board.advance(2_000)
    upper, lower = RAIL * 3333 / 6333, RAIL * 3300 / 6333

    def convert(turn: bool) -> float:
        made.board.write(0x48, bytes((1, 0x83 | 6 << 4, 0xE3)))  # AIN2 against ground, 4.096 V, one shot, fastest
        half = made.board.nodes.values.conversion_us // 2
        made.board.advance(half)
        if turn:
            made.look_at(11, 9)
        made.board.advance(half + 10)
        made.look_at(9, 9)
        made.board.write(0x48, b"\x00")
        high, low = made.board.read(0x48, 2)
        made.board.advance(2_000)
        return (high << 8 | low) * 4.096 / 32768

    assert convert(False) == pytest.approx(upper, abs=1e-3)
    assert convert(True) == pytest.approx((upper + values.FLOOR_V) / 2, abs=5e-3)
    made.board.write(0x48, bytes((1, 0x83 | 2, 0xE3)))  # AIN0 - AIN1, 4.096 V
    made.board.advance(2_000)
    made.board.write(0x48, b"\x00")
    high, low = made.board.read(0x48, 2)
    assert (high << 8 | low) * 4.096 / 32768 == pytest.approx(11 * (upper - lower), abs=1e-3)


def test_hum_stands_along_every_conductor() -> None:
    """100 uV r.m.s. at 50 Hz peaks at 11 x 141 uV behind the gain, a quarter of a turn after zero."""
    made = Driven({"hum_uv": 100, "hum_hz": 50})
    made.look_at(0, 0)
    seen = []
    for _ in range(40):
        made.board.write(0x48, bytes((1, 0x8B, 0xE3)))  # AIN0 - AIN1, 0.256 V
        made.board.advance(2_000)
        made.board.write(0x48, b"\x00")
        high, low = made.board.read(0x48, 2)
        seen.append(((high << 8 | low) ^ 0x8000) - 0x8000)
    assert max(seen) * 0.256 / 32768 == pytest.approx(11 * 141.4e-6, abs=1e-4)
    assert min(seen) * 0.256 / 32768 == pytest.approx(-11 * 141.4e-6, abs=1e-4)


def test_a_film_is_whole_until_more_than_a_little_stands_across_it() -> None:
    """Lifted, a film of 400 ohm shows; half a milliampere breaks it for good, but leaves one of 40 ohm."""

    def film(ohm: float) -> Driven:
        return Driven(fault=[{"kind": "film", "conductors": ["orange"], "ohm": ohm, "end": "far"}])

    def across(made: Driven) -> float:
        made.lift(True)
        volts = made.after(2_000)
        made.lift(False)
        return volts[1] - volts[10]

    for ohm, breaks in ((400.0, True), (40.0, False)):
        made = film(ohm)
        whole = across(made)
        assert whole == pytest.approx(3.3 / 241 * ohm / (2 * LOW + ohm), rel=0.02)
        assert across(made) == pytest.approx(whole)
        made.drive(low=EVERY & ~2, high=2)
        made.after(1_000)
        made.drive(low=EVERY)
        made.after(1_000)
        assert (across(made) < whole / 50) == breaks


def test_a_voltage_from_outside_is_seen_by_a_floating_contact() -> None:
    """0.5 V between contacts 4 and 5 behind 10 ohm: with DN the positive one shows 0.5 V x 100k / 125.5k."""
    attached = {"kind": "dc", "contact": "4", "other": "5", "volt": 0.5, "source_ohm": 10.0, "far": "open"}
    made = Driven(attached=attached)
    made.look_at(3, 15)
    made.pull(down=DOWN_A)
    made.drive(low=EVERY & ~(1 << 3))
    assert made.after(3_000)[18] == pytest.approx(0.5 * 100 / 125.5, rel=2e-3)
    made.drive(low=EVERY & ~(1 << 4))
    made.look_at(4, 15)
    assert made.after(3_000)[18] < 0.0


def test_57_volts_stand_no_higher_than_the_clamps_at_a_common() -> None:
    """A common never leaves the rails by more than a chip's own diodes, either way."""
    attached = {"kind": "dc", "contact": "4", "other": "5", "volt": 57.0, "source_ohm": 1.0, "far": "open"}
    made = Driven(attached=attached)
    made.drive()
    for channel, contact in ((3, 3), (4, 4)):
        made.look_at(channel, 15)
        volts = made.after(3_000)
        assert -values.CLAMP_V <= volts[18] <= RAIL + values.CLAMP_V, contact


def test_without_the_rail_nothing_drives() -> None:
    """Power-up, a rail that is off and a program that stopped leave every contact undriven."""
    made = Driven()
    board = made.board
    made.drive(low=EVERY & ~1, high=1)
    board.start_watchdog(1_000)
    with pytest.raises(WatchdogReset):
        board.advance(2_000)
    assert not board.nodes.wiring.powered
    assert board.nodes.wiring.low == board.nodes.wiring.high == 0
    board.set_outputs(SELECT, 1 << 15 | SELECT)  # on again: the ports have forgotten
    assert board.nodes.wiring.low == board.nodes.wiring.high == 0
    with pytest.raises(ValueError, match="wrong way"):
        board.set_outputs(SELECT, 1 << 15 | SELECT | UP_B)


def test_a_port_is_read_back_and_knows_its_address() -> None:
    """Registers count up and wrap; until it is told otherwise a port answers to address 0 whatever its pins say."""
    far = Port(1)
    assert far.transfer(bytes((0x42, 0x14, 1))) is None
    assert far.transfer(bytes((0x40, 0x0A, 8))) is not None
    assert far.transfer(bytes((0x40, 0x14, 1))) is None
    far.transfer(bytes((0x42, 0x14, 0x05, 0x01, 0xF0, 0xFE)))
    assert far.driven() == (0x0A, 0x0105)
    assert far.transfer(bytes((0x43, 0x14, 0, 0, 0))) == bytes((0, 0, 0x05, 0x01, 0xF0))


def test_boards_differ_within_their_tolerances() -> None:
    """Drawn parts stay within tolerance, a corner board's lie at the ends, the same number draws the same board."""
    nominal = values.Values({"values": BUILT})
    assert nominal.sense_us[0] == pytest.approx(1e6 / 22_100)
    anywhere = values.Values({"values": BUILT, "parts": 7})
    assert (
        anywhere.step_pf
        == values.Values({"values": BUILT, "parts": 7}).step_pf
        != values.Values({"values": BUILT, "parts": 8}).step_pf
    )
    for number in range(1, 20):
        corner = values.Values({"values": BUILT, "parts": number, "corner": 1, "leak_na": 100})
        assert all(abs(pf / 220 - 1) == pytest.approx(0.01) for pf in corner.step_pf)
        assert all(abs(us) * corner.rail_v == pytest.approx(0.1) for us in corner.leak_us)
        assert all(abs(ua) == pytest.approx(0.1) for ua in corner.leak_ua)
        assert 0.9 < corner.lift_v / nominal.lift_v < 1.1
