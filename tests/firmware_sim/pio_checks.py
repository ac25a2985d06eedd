"""The firmware's PIO programs in two machines: the board's own, and the general-purpose emulator pioemu."""

import json
import random
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pioemu import ShiftRegister, State, emulate

from firmware_sim.board.pio import Machine
from firmware_sim.board.pio_words import Program
from tests.firmware_sim.processes import run_program, tables

STEP_PIN, INPUT_PIN = 15, 16
CYCLE_PS = 8_000
ALL_ONES = 0xFFFFFFFF
DUMP = """
import json, step
print(json.dumps([[p.words, p.wrap_to, p.wrap_at, {key: int(value) for key, value in p.settings.items()}]
                  for p in (step.count_up, step.count_down, step.sample, step.edges)]))
"""


def programs(folder: Path, vm: str = "cpython") -> dict[str, Program]:
    """Return the programs as the firmware's step.py assembles them."""
    done = run_program(folder, DUMP, tables(), vm)
    assert done.returncode == 0, done.stderr
    found = {}
    for name, (words, wrap_to, wrap_at, settings) in zip(
        ("count_up", "count_down", "sample", "edges"), json.loads(done.stdout), strict=True
    ):
        found[name] = Program(settings)
        found[name].words, found[name].wrap_to, found[name].wrap_at = words, wrap_to, wrap_at
    return found


@dataclass
class Wave:
    """An input that changes at moments; also notes when the step pin was set. Times in picoseconds."""

    changes: list[int]
    begins: int = 0
    steps: list[tuple[int, int]] | None = None

    def input_level(self, _pin: int, at_ps: int) -> int:
        """Return the level at a moment."""
        return (self.begins + sum(change <= at_ps for change in self.changes)) % 2

    def next_change(self, _pin: int, after_ps: int) -> int:
        """Return the next change."""
        return min((change for change in self.changes if change > after_ps), default=1 << 60)

    def set_pin(self, _pin: int, level: int, at_ps: int) -> None:
        """Note a level of the step."""
        if self.steps is not None:
            self.steps.append((at_ps, level))


def board_run(program: Program, wave: Wave, sent: list[int], words: int, cycles: int, synchroniser: int = 0) -> Machine:
    """Run a program on the board's machine until it has queued so many words, or so many cycles have passed."""
    machine = Machine(program, wave, CYCLE_PS, STEP_PIN, INPUT_PIN, INPUT_PIN, synchroniser)
    machine.sent = list(sent)
    machine.run(cycles * CYCLE_PS, words)
    return machine


def pioemu_words(program: Program, wave: Wave, sent: list[int], words: int, cycles: int) -> list[tuple[int, int]]:
    """Return (word, cycle after it was queued) from pioemu, which has no synchroniser and no input base pin."""

    def level(clock: int) -> int:
        now = wave.input_level(INPUT_PIN, clock * CYCLE_PS)
        return now << INPUT_PIN | now  # IN and WAIT read from pin 0 there, JMP from its own pin

    begin = State(transmit_fifo=deque(sent), pin_directions=1 << STEP_PIN, output_shift_register=ShiftRegister(0, 32))
    source: Callable[[int], int] = level
    found: list[tuple[int, int]] = []
    for _, now in emulate(
        program.words,
        stop_when=lambda _word, state: len(found) >= words or state.clock >= cycles,
        initial_state=begin,
        input_source=source,
        auto_push=bool(program.settings.get("autopush")),
        shift_isr_right=program.settings.get("in_shiftdir", 0) == 1,
        set_base=STEP_PIN,
        set_count=1,
        jmp_pin=INPUT_PIN,
        wrap_target=program.wrap_to,
        wrap_top=program.wrap_at,
    ):
        while now.receive_fifo:
            found.append((now.receive_fifo.popleft(), now.clock))
    return found


def check_counter(program: Program, limit: int, change_cycle: int | None, rising: bool) -> int:
    """Run a counter in both machines with an input that changes in one cycle, or never; return the word."""
    changes = [] if change_cycle is None else [change_cycle * CYCLE_PS]
    wave = Wave(changes, 0 if rising else 1)
    cycles = 2 * limit + 40
    machine = board_run(program, wave, [limit], 1, cycles)
    (word, clock), *_ = pioemu_words(program, wave, [limit], 1, cycles)
    assert machine.received == [word], (limit, change_cycle, rising)
    assert machine.now_ps == clock * CYCLE_PS, (limit, change_cycle, rising)
    return word


def check_sampler(program: Program, changes: list[int]) -> list[int]:
    """Run the sampler in both machines with an input that changes in some cycles; return its eight words."""
    wave = Wave([change * CYCLE_PS for change in changes])
    machine = board_run(program, wave, [], 8, 400)
    assert machine.received == [word for word, _ in pioemu_words(program, wave, [], 8, 400)], changes
    return machine.received


def counters_over_their_range(limit: int, found: dict[str, Program]) -> str:
    """Let the echo come in every cycle, one after the other: every count is there, in order, and no echo is told."""
    for name, rising in (("count_up", True), ("count_down", False)):
        words = [check_counter(found[name], limit, cycle, rising) for cycle in range(2 * limit + 12)]
        counts = [limit - word for word in words if word <= limit]
        assert counts == sorted(counts)
        assert set(counts) == set(range(limit + 1))
        assert words[-1] == ALL_ONES
    return f"both counters with the echo in each of {2 * limit + 12} cycles, as pioemu"


def pio_programs_at_random(seed: int, count: int, found: dict[str, Program]) -> str:
    """Compare both machines on counts up to the capacitance limit and on random inputs to the sampler."""
    chance = random.Random(seed)
    longest = 0
    for _ in range(count):
        limit = round(10 ** chance.uniform(0.5, 3.5))
        change = chance.choice([None, chance.randrange(2 * limit + 20)])
        rising = chance.random() < 0.5
        check_counter(found["count_up" if rising else "count_down"], limit, change, rising)
        longest = max(longest, limit)
        check_sampler(found["sample"], sorted(chance.sample(range(300), chance.randrange(1, 9))))
    return f"{count} inputs to both counters and the sampler, up to {longest} counts, cycle for cycle as pioemu"
