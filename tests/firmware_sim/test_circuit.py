"""The board's formulas against numbers worked by hand."""

import statistics

import pytest

from firmware_sim.board import levels, parts
from firmware_sim.board.board import Board
from firmware_sim.board.bus_parts import BusParts
from firmware_sim.board.cable import Cable
from firmware_sim.board.clock import Clock, WatchdogReset
from firmware_sim.board.comparator import crossings
from firmware_sim.board.noise import Noise
from firmware_sim.board.switchboard import (
    CHARGE,
    DISCHARGE,
    ECHO_SWITCH,
    FORCE,
    FULL,
    LOW_SWITCH,
    PROBE,
    RANGE_LOW,
    SENSE,
    SOURCE,
    VOLTMETER,
)
from tests.firmware_sim.processes import N, Tables, source, tables, triangle


def board(
    given: Tables | None = None, *pins: int, high: int = 31, low: int = 31, code: int = VOLTMETER, seed: int = 1
) -> Board:
    """Return a board with some pins high and its multiplexers and range set; seed: of its noise."""
    made = Board(Clock(), Cable(given or tables()), Noise(seed), [])
    made.switchboard.switch_outputs = True
    levels_now = sum(1 << pin for pin in pins) | high << 2 | low << 7 | code << RANGE_LOW
    made.set_outputs(levels_now, (1 << 23) - 1)
    return made


def test_full_current_into_one_ohm() -> None:
    """3.3 V through driver 10, two paths of 157, shunt 100 and 1 ohm: 7.765 mA, 7.765 mV and 776.5 mV."""
    _, across, through = board(tables({(0, 9): 1_000}), FORCE, SOURCE, high=0, low=16, code=FULL).circuit.force()
    assert across == pytest.approx(3.3e6 / 425, abs=1)
    assert through == pytest.approx(100 * 3.3e6 / 425, abs=1)


def test_the_probe_is_a_third_of_a_milliampere() -> None:
    """Through 10 kohm a short takes 3.3 V / 10 414 ohm = 0.317 mA, and the bus shows 131.2 mV."""
    bus, _, through = board(tables({(0, 9): 0}), FORCE, SOURCE, high=0, low=16, code=PROBE).circuit.force()
    assert through == pytest.approx(100 * 316.9, abs=2)
    assert bus == pytest.approx(131_190, abs=10)


def test_the_low_level_is_at_most_20_millivolts() -> None:
    """Behind 10 kohm, 56 ohm leave 18.38 mV open circuit (IEC 60512-2-1 asks for at most 20 mV, from memory)."""
    made = board(tables(), FORCE, SENSE, SOURCE, high=0, low=16, code=PROBE)
    made.set_switches(LOW_SWITCH)
    bus, across, through = made.circuit.force()
    assert bus == pytest.approx(3.3e6 * 56 / 10_056, abs=2)
    assert across <= 20_000
    assert through == 0


def test_the_low_level_leaves_a_film_whole() -> None:
    """A contact of 0.3 ohm under full current and 40 ohm under 20 mV shows each where it belongs."""
    given = tables({(0, 9): 300}, {(0, 9): 40_000})
    made = board(given, FORCE, SENSE, SOURCE, high=0, low=16, code=PROBE)
    assert made.circuit.force()[1] == pytest.approx(3.3e6 * 0.3 / 10_414.3, abs=1)
    made.set_switches(LOW_SWITCH)
    _, across, through = made.circuit.force()
    assert across / (through / 100) == pytest.approx(40, rel=1e-3)


@pytest.mark.parametrize(("joined", "ohm"), [(1, 1000), (2, 500), (3, 1000 / 3)])
def test_a_fed_contact_shows_how_many_are_tied_in_its_net(joined: int, ohm: float) -> None:
    """With every contact tied through 1 kohm, a net of n contacts is 1000 / n ohm to ground, behind 157."""
    given = tables({(0, contact): 0 for contact in range(1, joined)})
    bus = board(given, FORCE, SOURCE, DISCHARGE, high=0, code=PROBE).circuit.force()[0]
    assert bus == pytest.approx(3.3e6 * (157 + ohm) / (10_157 + ohm), rel=1e-4)


def test_the_voltmeter_divides_by_38() -> None:
    """12 V against the tester's ground lies 10.35 V above the middle; 2.7 of 102.7 kohm of it reach the converter."""
    made = board(tables(foreign=[source(3, None, 12_000, source_ohm=0)]), SENSE, high=3)
    high, low = made.circuit.sense()
    assert high == pytest.approx(10.35e6 * 2.7 / 102.7, abs=2)
    assert low == 0


def test_an_isolated_voltage_shows_half_on_either_side() -> None:
    """48 V between two contacts drives both sense paths in series: 0.631 V up on one, down on the other."""
    given = tables(foreign=[source(3, 6, 48_000, source_ohm=0)])
    made = board(given, SENSE, high=3, low=6)
    high, low = made.circuit.sense()
    assert high == pytest.approx(48e6 * 2.7 / 205.4, abs=2)
    assert low == -high
    assert board(given, SENSE, high=3, low=31).circuit.sense() == (0, 0)


def test_alternating_voltage_swings_by_its_peak() -> None:
    """10 V r.m.s. at 50 Hz peaks at 14.14 V, 5 ms after it begins."""
    cable = Cable(tables(foreign=[source(0, None, 10_000, "ac")]))
    assert cable.source(0, None, 5_000)[0] == pytest.approx(14_140, abs=1)
    assert cable.source(0, None, 15_000)[0] == pytest.approx(-14_140, abs=1)


def test_the_converter_has_the_noise_and_errors_stated() -> None:
    """Readings of 1.65 V average to 2048 counts plus gain and offset, and scatter as the levels say."""
    made = board()
    seen = [made.circuit.channel(2) for _ in range(20_000)]
    wanted = 2048 * (1 + levels.GAIN_PPM * 1e-6) + levels.ADC12_OFFSET_LSB
    assert statistics.fmean(seen) == pytest.approx(wanted - 0.5, abs=0.05)  # counting cuts off half a count
    scatter = (levels.ADC12_NOISE_LSB_X100 / 100) ** 2 + 1 / 12
    assert statistics.pvariance(seen) == pytest.approx(scatter, rel=0.05)


def test_the_16_bit_converter_counts_as_its_data_sheet_says() -> None:
    """A single-shot conversion at 256 mV full scale counts 7.8125 uV, and is there after 1/860 s, not before."""
    made = board(tables({(0, 9): 1_000}), FORCE, SENSE, SOURCE, high=0, low=16, code=FULL)
    bus = BusParts(made)
    seen = []
    for _ in range(400):
        bus.write(0x48, bytes((1, 0x8B, 0xE3)))  # contacts, 256 mV, single shot, 860 a second
        bus.write(0x48, b"\x00")
        assert bus.read(0x48, 2) == bytes((0x8B, 0xE3))
        made.clock.advance(1_250)
        word = bus.read(0x48, 2)
        seen.append(word[0] << 8 | word[1])
    assert statistics.fmean(seen) == pytest.approx(7764.7 / 7.8125 - 0.5, abs=0.2)
    assert statistics.pstdev(seen) == pytest.approx(levels.ADC16_NOISE_UV / 7.8125, rel=0.15)


def charged(made: Board, at_us: int) -> float:
    """Return how long after the step the comparator changes, microseconds."""
    made.comparator.step(1, at_us * 1_000_000)
    change = made.comparator.next_change(at_us * 1_000_000)
    made.comparator.step(0, (at_us + 2_000) * 1_000_000)
    return change / 1e6 - at_us


def test_half_the_supply_is_reached_after_rc_ln_2() -> None:
    """100 157 ohm (0.04 % high) and 500 + 120 pF reach half the supply after 43.06 us."""
    given = tables()
    given["capacitance"]["pair_ff"] = triangle({}, 500_000)
    times = []
    for number in range(200):
        made = board(given, FORCE, high=0, low=16, code=CHARGE, seed=number)
        made.switchboard.set_threshold(32_768)
        made.clock.now_us += 1_000
        times.append(charged(made, 1_000))
    assert statistics.fmean(times) == pytest.approx(43.060 + levels.COMPARATOR_DELAY_PS * 1e-6, abs=0.01)
    # 0.8 mV of noise over a slope of 1.65 V / 62.1 us is 30 ns.
    assert statistics.pstdev(times) == pytest.approx(0.0301, rel=0.25)


def test_a_leak_makes_it_later_or_never() -> None:
    """Beside 300 kohm the end is 2.474 V through 75.1 kohm: 51.2 us; beside 90 kohm half is never reached."""
    for leak_ohm, wanted_us in ((300_000, 51.23), (90_000, None)):
        given = tables()
        given["capacitance"]["pair_ff"] = triangle({}, 500_000)
        given["capacitance"]["leak_ohm"] = triangle({(0, 9): leak_ohm})
        made = board(given, FORCE, high=0, low=16, code=CHARGE)
        made.switchboard.set_threshold(32_768)
        made.clock.now_us += 1_000
        time_us = charged(made, 1_000)
        if wanted_us is None:
            assert time_us > 1e6
        else:
            assert time_us == pytest.approx(wanted_us, abs=0.15)


def test_what_was_not_discharged_shortens_the_next_charge() -> None:
    """A step soon after another begins from what the first left; a tie of 1 kohm takes that away."""
    given = tables()
    given["capacitance"]["pair_ff"] = triangle({}, 500_000)
    made = board(given, FORCE, high=0, low=16, code=CHARGE)
    made.switchboard.set_threshold(32_768)
    made.clock.now_us += 1_000
    first = charged(made, 1_000)
    made.clock.now_us = 3_010
    assert charged(made, 3_010) < first / 2
    made.clock.now_us = 6_000
    outputs = made.switchboard.outputs
    made.set_outputs(outputs | 1 << DISCHARGE, made.switchboard.directions)
    made.clock.now_us = 6_040
    made.set_outputs(outputs, made.switchboard.directions)
    assert charged(made, 6_040) == pytest.approx(first, abs=0.2)


def test_the_threshold_follows_its_filter() -> None:
    """30 us after it was set anew the threshold has gone 1 - 1/e of the way, after 300 us all of it."""
    made = board()
    made.switchboard.set_threshold(60_000)
    for wait_us, share in ((0, 0.0), (30, 0.632_121), (270, 0.999_955)):
        made.clock.now_us += wait_us
        assert made.switchboard.threshold() == pytest.approx(60_000 * share, abs=1)


def test_the_step_is_delayed_by_16_picoseconds_a_count() -> None:
    """1000 counts of the delay converter are 16 ns, 1.5 % long as the levels say."""
    found = []
    for counts in (0, 1000):
        made = board(seed=5)
        made.set_switches(ECHO_SWITCH)
        made.switchboard.set_threshold(40_000)
        made.clock.now_us += 1_000
        made.switchboard.delay_counts = counts
        made.comparator.step(1, 0)
        found.append(made.comparator.next_change(0))
    assert found[1] - found[0] == 16_240


def test_a_sampled_wave_crosses_between_its_samples() -> None:
    """0, 0, 2, 2, 1 V at 10 ns: 0.5 V is passed at 12.5 ns and never left, 1.5 V at 17.5 ns and left at 35 ns."""
    wave = [0, 0, 2_000_000, 2_000_000, 1_000_000]
    assert crossings(0, 10_000, wave, 500_000) == [(12_500, 1)]
    assert crossings(0, 10_000, wave, 1_500_000) == [(17_500, 1), (35_000, 0)]


def test_a_schedule_of_states_repeats() -> None:
    """A network that comes at 3 ms of every 10 ms is there from 3 to 10, 13 to 20 and so on."""
    given = tables({(0, 9): 280})
    given["networks"].append({"milliohm": triangle({}), "low_milliohm": triangle({})})
    given["schedule"], given["period_us"] = [[0, 0], [3_000, 1]], 10_000
    cable = Cable(given)
    seen = [cable.milliohm(0, 9, now) for now in (0, 2_999, 3_000, 9_999, 10_000, 13_000, 1_000_002_999)]
    assert seen == [280, 280, None, None, 280, None, 280]


def test_the_watchdog_resets_every_pin_of_the_chip() -> None:
    """When it is not fed, the pins become inputs, and the board's pull-downs switch everything off."""
    made = board(tables({(0, 9): 280}), FORCE, SOURCE, high=0, low=16, code=FULL)
    assert made.circuit.force()[2] > 0
    made.start_watchdog(4_000_000)
    with pytest.raises(WatchdogReset):
        made.advance(4_000_001)
    assert made.circuit.force() == (0, 0, 0)
    assert (made.switchboard.pin(FORCE), made.switchboard.pin(SOURCE), made.switchboard.range()) == (0, 0, VOLTMETER)


def test_every_contact_has_its_own_address() -> None:
    """Near contacts sit on the first multiplexer of each side, far ones on the second; the spare inputs on none."""
    assert [parts.contact_at(address) for address in range(32)] == [
        *range(9),
        *[-1] * 7,
        *range(9, N),
        *[-1] * 7,
    ]
