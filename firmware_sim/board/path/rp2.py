"""Stands in for MicroPython's rp2: the assembler of PIO programs and the state machines."""

from firmware_sim.board import parts
from firmware_sim.board.pio import Machine
from firmware_sim.board.pio_words import Program
from firmware_sim.board.power import clock, reference

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable

    from firmware_sim.board.path import machine

LONGEST_US = 1_000_000


class PIO:
    """Constants."""

    OUT_LOW = 2
    SHIFT_LEFT = 0
    JOIN_RX = 2


def asm_pio(**settings: object) -> "Callable[[Callable[[], None]], Program]":
    """Return the decorator that turns a function into a program, as MicroPython's own does."""

    def assembled(function: "Callable[[], None]") -> Program:
        program = Program(settings)
        names = function.__globals__
        before = names.copy()
        names.clear()
        names.update(program.instructions())
        for _ in range(2):
            program.begin_pass()
            function()
        program.end()
        names.clear()
        names.update(before)
        return program

    return assembled


class StateMachine:
    """One of the chip's state machines."""

    def __init__(
        self,
        number: int,
        program: Program,
        freq: int,
        *,
        set_base: "machine.Pin | None" = None,
        in_base: "machine.Pin | None" = None,
        jmp_pin: "machine.Pin | None" = None,
    ) -> None:
        if not 0 <= number < 8 or freq * parts.CYCLE_PS != 1_000_000_000_000:
            raise ValueError("state machine")
        if reference is None:
            raise ValueError("no part of the bench board hangs on the programmable I/O")
        self._board = reference
        self._machine = Machine(
            program,
            self._board,
            parts.CYCLE_PS,
            *[pin.number if pin else -1 for pin in (set_base, jmp_pin, in_base)],
        )
        if set_base:
            pins, bit = self._board.switchboard, 1 << set_base.number
            self._board.set_outputs(pins.outputs & ~bit, pins.directions | bit)

    def restart(self) -> None:
        """Start over."""
        self._machine.restart()

    def active(self, on: int) -> None:
        """Start or stop."""
        if on and not self._machine.running:
            self._machine.now_ps = clock.now_us * 1_000_000
        self._machine.running = bool(on)

    def exec(self, instruction: str) -> None:
        """Carry out one instruction at once."""
        program = Program({})
        program.begin_pass()
        eval(instruction, program.instructions())
        self._machine.now_ps = clock.now_us * 1_000_000
        self._machine.execute(program.words[0])

    def put(self, word: int) -> None:
        """Queue a word for the program."""
        self._machine.run(clock.now_us * 1_000_000)
        self._machine.sent.append(word)

    def get(self) -> int:
        """Return the next word from the program, waiting for it."""
        chip = self._machine
        chip.run((clock.now_us + LONGEST_US) * 1_000_000, 1)
        if not chip.received:
            raise RuntimeError("the state machine never answers")
        late_us = -(-chip.now_ps // 1_000_000) - clock.now_us
        if late_us > 0:
            self._board.advance(late_us)
        return chip.received.pop(0)

    def rx_fifo(self) -> int:
        """Return how many words wait."""
        if self._machine.running:
            self._machine.run(clock.now_us * 1_000_000)
        return len(self._machine.received)
