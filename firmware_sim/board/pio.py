"""A state machine of the programmable I/O, run cycle by cycle after the RP2040 datasheet, 3.4 and 3.5.

Its time is picoseconds. Loops that only count while the input stays as it is are taken in one stride; inputs
pass the two flip-flops of the synchroniser.
"""

from firmware_sim.board.pio_words import Program

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Protocol

    class Pins(Protocol):
        """What a state machine sees of the board."""

        def input_level(self, pin: int, at_ps: int) -> int:
            """Return a pin's level at a moment."""

        def next_change(self, pin: int, after_ps: int) -> int:
            """Return when a pin changes next."""

        def set_pin(self, pin: int, level: int, at_ps: int) -> None:
            """Drive a pin."""


SYNCHRONISER_CYCLES = 2
MASK = 0xFFFFFFFF


class Machine:
    """One state machine: its program, registers and queues."""

    def __init__(
        self,
        program: Program,
        pins: "Pins",
        cycle_ps: int,
        set_pin: int,
        jmp_pin: int,
        in_pin: int,
        synchroniser_cycles: int = SYNCHRONISER_CYCLES,
    ) -> None:
        self.words = program.words
        self.wrap_to, self.wrap_at = program.wrap_to, program.wrap_at
        self._pins = pins
        self.cycle_ps = cycle_ps
        self._set_pin, self._jmp_pin, self._in_pin = set_pin, jmp_pin, in_pin
        settings = program.settings
        self.receive_depth = 8 if settings.get("fifo_join") == 2 else 4
        self._autopush = bool(settings.get("autopush"))
        self._shift_right = settings.get("in_shiftdir", 0) == 1
        self._line_ps = cycle_ps * synchroniser_cycles
        self.x = self.y = self.osr = 0
        self.now_ps = 0
        self.running = False
        self.received: "list[int]" = []
        self.sent: "list[int]" = []
        self.restart()

    def restart(self) -> None:
        """Start from the first instruction with an empty input register; the queues keep what they hold."""
        self.pc = self.isr = self.shifted = 0

    def pin_level(self, pin: int) -> int:
        """Return what an instruction sees of a pin now: what it was two cycles ago."""
        return self._pins.input_level(pin, self.now_ps - self._line_ps)

    def run(self, until_ps: int, words: int = 1 << 30) -> None:
        """Run to a moment, or until so many words wait to be read; a stalled machine lets time pass."""
        while self.now_ps < until_ps and len(self.received) < words:
            if not self.step(until_ps):
                self.now_ps = until_ps

    def step(self, until_ps: int) -> bool:
        """Carry out one instruction and its delay; False when it stalls until then at least."""
        word = self.words[self.pc]
        code = word >> 13
        following = self.wrap_to if self.pc == self.wrap_at else self.pc + 1
        low = word & 0xFF
        if code == 0:
            following = self._jump(low, following, until_ps)
        elif code == 1:
            if not self._wait(low, until_ps):
                return False
        elif code == 2:
            if not self._shift_in(low, until_ps):
                return False
        elif code == 4:
            if not self._queue(low):
                return False
        elif code == 5:
            self._move(low)
        elif code == 7:
            self._assign(low)
        else:
            raise ValueError("instruction not modelled")
        self.now_ps += self.cycle_ps * (1 + (word >> 8 & 31))
        self.pc = following
        return True

    def execute(self, word: int) -> None:
        """Carry out one instruction from outside the program; it must not stall."""
        code = word >> 13
        if code == 7:
            self._assign(word & 0xFF)
        elif code == 5:
            self._move(word & 0xFF)
        else:
            raise ValueError("instruction not modelled")

    def _jump(self, low: int, following: int, until_ps: int) -> int:
        condition, target = low >> 5, low & 31
        if condition == 0:
            return target
        if condition == 1:
            return target if self.x == 0 else following
        if condition == 2:
            if target <= self.pc:
                self._stride(target, until_ps)
            taken = self.x != 0
            self.x = self.x - 1 & MASK
            return target if taken else following
        if condition == 3:
            return target if self.y == 0 else following
        if condition == 4:
            taken = self.y != 0
            self.y = self.y - 1 & MASK
            return target if taken else following
        if condition == 5:
            return target if self.x != self.y else following
        if condition == 6:
            return target if self.pin_level(self._jmp_pin) else following
        raise ValueError("condition not modelled")

    def _stride(self, target: int, until_ps: int) -> None:
        """Take many turns of a loop that consists of jumps alone, as long as the input and X allow."""
        level = self.pin_level(self._jmp_pin)
        place, cycles = target, 0
        while place != self.pc:
            word = self.words[place]
            cycles += 1 + (word >> 8 & 31)
            condition = word >> 5 & 7
            if word >> 13 or condition not in (0, 6) or cycles > 64:
                return
            if condition == 0 or level:
                place = word & 31
            else:
                place += 1
            if place > self.pc:
                return
        turn_ps = (cycles + 1 + (self.words[self.pc] >> 8 & 31)) * self.cycle_ps
        steady_ps = self._pins.next_change(self._jmp_pin, self.now_ps - self._line_ps) + self._line_ps
        turns = min((min(steady_ps, until_ps) - self.now_ps) // turn_ps - 1, self.x - 1)
        if turns > 0:
            self.x -= turns
            self.now_ps += turns * turn_ps

    def _wait(self, low: int, until_ps: int) -> bool:
        if low >> 5 & 3 != 1:
            raise ValueError("wait not modelled")
        pin = self._in_pin + (low & 31)
        wanted = low >> 7
        while self.pin_level(pin) != wanted:
            change_ps = self._pins.next_change(pin, self.now_ps - self._line_ps) + self._line_ps
            cycles = -((self.now_ps - change_ps) // self.cycle_ps)
            if self.now_ps + cycles * self.cycle_ps >= until_ps:
                return False
            self.now_ps += cycles * self.cycle_ps
        return True

    def _shift_in(self, low: int, until_ps: int) -> bool:
        source, count = low >> 5, low & 31 or 32
        if source == 0:
            bits = self.pin_level(self._in_pin)
            if count != 1:
                raise ValueError("in of several pins not modelled")
            if self._autopush and self.pc == self.wrap_at == self.wrap_to:
                self._stride_in(bits, until_ps)
        elif source == 3:
            bits = 0
        else:
            raise ValueError("in not modelled")
        if self._autopush and self.shifted + count >= 32 and len(self.received) >= self.receive_depth:
            return False
        self._shift(bits, count)
        return True

    def _shift(self, bits: int, count: int) -> None:
        if self._shift_right:
            self.isr = self.isr >> count | bits << 32 - count & MASK
        else:
            self.isr = self.isr << count & MASK | bits
        self.shifted = min(32, self.shifted + count)
        if self._autopush and self.shifted >= 32:
            self.received.append(self.isr)
            self.isr = self.shifted = 0

    def _stride_in(self, bit: int, until_ps: int) -> None:
        """Sample many times while the input stays as it is, short of the next push."""
        turn_ps = self.cycle_ps * (1 + (self.words[self.pc] >> 8 & 31))
        steady_ps = self._pins.next_change(self._in_pin, self.now_ps - self._line_ps) + self._line_ps
        turns = min((min(steady_ps, until_ps) - self.now_ps) // turn_ps - 1, 31 - self.shifted)
        if turns > 0:
            self._shift((1 << turns) - 1 if bit else 0, turns)
            self.now_ps += turns * turn_ps

    def _queue(self, low: int) -> bool:
        if low & 0x80:
            if self.sent:
                self.osr = self.sent.pop(0)
            elif low & 0x20:
                return False
            else:
                self.osr = self.x
            return True
        if len(self.received) >= self.receive_depth:
            return not low & 0x20
        self.received.append(self.isr)
        self.isr = self.shifted = 0
        return True

    def _move(self, low: int) -> None:
        source = low & 7
        if source in (0, 5):
            raise ValueError("mov not modelled")
        value = (0, self.x, self.y, 0, 0, 0, self.isr, self.osr)[source]
        operation = low >> 3 & 3
        if operation == 1:
            value = ~value & MASK
        elif operation:
            raise ValueError("mov not modelled")
        self._store(low >> 5, value)

    def _assign(self, low: int) -> None:
        target, value = low >> 5, low & 31
        if target == 0:
            self._pins.set_pin(self._set_pin, value & 1, self.now_ps)
        else:
            self._store(target, value)

    def _store(self, target: int, value: int) -> None:
        if target == 1:
            self.x = value
        elif target == 2:
            self.y = value
        elif target == 6:
            self.isr = value
            self.shifted = 0
        elif target == 7:
            self.osr = value
        else:
            raise ValueError("target not modelled")
