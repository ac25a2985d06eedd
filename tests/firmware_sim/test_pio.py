"""The PIO programs of the firmware, cycle for cycle."""

from pathlib import Path

import pytest

from firmware_sim.board.pio_words import Program
from tests.firmware_sim.pio_checks import (
    ALL_ONES,
    CYCLE_PS,
    Wave,
    board_run,
    check_counter,
    check_sampler,
    counters_over_their_range,
    pio_programs_at_random,
    pioemu_words,
    programs,
)
from tests.firmware_sim.processes import VMS

LIMIT = 160  # counts of the echo, firmware/echo.py


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Program]:
    """Assemble the programs once."""
    return programs(tmp_path_factory.mktemp("pio"))


@pytest.mark.parametrize("vm", VMS)
def test_both_interpreters_assemble_the_words_of_the_datasheet(tmp_path: Path, vm: str) -> None:
    """The words are those that the RP2040 datasheet, 3.4, gives for each instruction, encoded by hand here."""
    found = programs(tmp_path, vm)
    # pull block; mov x, osr; set pins, 1; jmp pin, 5; jmp x--, 3; mov isr, x; set pins, 0; push block
    assert found["count_up"].words == [0x80A0, 0xA027, 0xE001, 0x00C5, 0x0043, 0xA0C1, 0xE000, 0x8020]
    # ... set pins, 1 [5]; jmp pin, 5; jmp 6; jmp x--, 3; ...
    assert found["count_down"].words == [
        *(0x80A0, 0xA027, 0xE501, 0x00C5, 0x0006, 0x0043, 0xA0C1, 0xE000, 0x8020),
    ]
    # set pins, 1; in pins, 1
    assert found["sample"].words == [0xE001, 0x4001]
    assert (found["sample"].wrap_to, found["sample"].wrap_at) == (1, 1)
    # wait 0 pin 0; wait 1 pin 0; push noblock
    assert found["edges"].words == [0x2020, 0x20A0, 0x8000]
    assert sum(len(program.words) for program in found.values()) <= 32  # the memory of one PIO block


def test_the_counters_agree_with_pioemu_over_a_whole_range(found: dict[str, Program]) -> None:
    """Whatever cycle the echo comes in, the count and the cycle it is queued in are those of pioemu."""
    assert "as pioemu" in counters_over_their_range(40, found)


@pytest.mark.parametrize(("name", "rising"), [("count_up", True), ("count_down", False)])
@pytest.mark.parametrize("limit", [0, 1, 2, LIMIT, 1000])
def test_no_echo_is_told_apart_from_every_count(found: dict[str, Program], name: str, rising: bool, limit: int) -> None:
    """X passes zero to all ones when nothing comes: a word above the limit, never a small count."""
    assert check_counter(found[name], limit, None, rising) == ALL_ONES


def test_the_sampler_agrees_with_pioemu(found: dict[str, Program]) -> None:
    """256 samples, one a cycle, the earliest in the highest bit, and none lost between two words."""
    words = check_sampler(found["sample"], [40, 41, 100, 260])
    bits = [word >> bit & 1 for word in words for bit in range(31, -1, -1)]
    # The first sample is taken in cycle 1, right after the step.
    expected = [int(40 <= cycle < 41 or 100 <= cycle < 260) for cycle in range(1, 257)]
    assert bits == expected


def test_the_sampler_stops_when_its_queue_is_full(found: dict[str, Program]) -> None:
    """Eight words are kept and no ninth overwrites one (RP2040 datasheet, 3.5.4.1: autopush stalls)."""
    machine = board_run(found["sample"], Wave([]), [], 20, 2000)
    assert machine.received == [0] * 8


def test_the_listener_queues_one_word_for_each_rising_edge(found: dict[str, Program]) -> None:
    """Pulses of 100 ns are caught one by one, in the cycle in which pioemu catches them."""
    wave = Wave([ps for edge in range(3) for ps in (edge * 4_000_000 + 800_000, edge * 4_000_000 + 900_000)])
    machine = board_run(found["edges"], wave, [], 4, 1400)
    words = pioemu_words(found["edges"], wave, [], 4, 1400)
    assert len(machine.received) == len(words) == 3


def test_random_inputs_agree_with_pioemu(found: dict[str, Program]) -> None:
    """Counts far beyond an echo, and waves with many edges, give the same words in both machines."""
    assert "cycle for cycle" in pio_programs_at_random(3, 12, found)


@pytest.mark.parametrize("count", [1, 2, 30, LIMIT])
def test_with_the_synchroniser_a_count_has_the_bounds_that_the_firmware_states(
    found: dict[str, Program], count: int
) -> None:
    """Count k means 16 k - 24 ns < t <= 16 k - 8 ns when counting to a rise, 16 k + 16 to 16 k + 32 ns to a fall.

    Two cycles of synchroniser (RP2040 datasheet, 2.19.3), worked by hand in firmware/step.py.
    """
    for name, begins, low_ps, high_ps in (
        ("count_up", 0, 16_000 * count - 24_000, 16_000 * count - 8_000),
        ("count_down", 1, 16_000 * count + 16_000, 16_000 * count + 32_000),
    ):
        for t_ps, inside in ((low_ps, False), (low_ps + 1, True), (high_ps, True), (high_ps + 1, False)):
            # The step goes out in the cycle of `set pins, 1`, the third of the program.
            wave = Wave([2 * CYCLE_PS + t_ps], begins, [])
            machine = board_run(found[name], wave, [LIMIT], 1, 600, synchroniser=2)
            assert wave.steps is not None
            assert wave.steps[0] == (2 * CYCLE_PS, 1)
            assert (LIMIT - machine.received[0] == count) == inside, (name, t_ps)
