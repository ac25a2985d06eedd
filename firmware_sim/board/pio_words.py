"""The assembler of the chip's programmable I/O: MicroPython's names to the words of the RP2040 datasheet, 3.4."""

CONDITIONS = {"not_x": 1, "x_dec": 2, "not_y": 3, "y_dec": 4, "x_not_y": 5, "pin": 6, "not_osre": 7}
IN_SOURCES = {"pins": 0, "x": 1, "y": 2, "null": 3, "isr": 6, "osr": 7}
OUT_TARGETS = {"pins": 0, "x": 1, "y": 2, "null": 3, "pindirs": 4, "pc": 5, "isr": 6, "exec": 7}
MOV_TARGETS = {"pins": 0, "x": 1, "y": 2, "exec": 4, "pc": 5, "isr": 6, "osr": 7}
MOV_SOURCES = {"pins": 0, "x": 1, "y": 2, "null": 3, "status": 5, "isr": 6, "osr": 7}
SET_TARGETS = {"pins": 0, "x": 1, "y": 2, "pindirs": 4}
WAIT_SOURCES = {"gpio": 0, "pin": 1}
NAMES = ("pins", "x", "y", "null", "pindirs", "pc", "isr", "osr", "exec", "status", "gpio", "pin")
LONGEST = 32


class Inverted:
    """What invert() makes of a source."""

    def __init__(self, source: str) -> None:
        self.source = source


class Delayable:
    """The instruction just written; [n] makes it last n cycles longer."""

    def __init__(self, program: "Program") -> None:
        self._program = program

    def __getitem__(self, cycles: int) -> None:
        if not 0 <= cycles < 32:
            raise ValueError("delay")
        self._program.words[-1] |= cycles << 8


class Program:
    """Words, where they wrap, and how the shift registers are set; made by calling its methods in order."""

    def __init__(self, settings: "dict[str, object]") -> None:
        self.settings = settings
        self.words: "list[int]" = []
        self.wrap_to = 0
        self.wrap_at = 0
        self._labels: "dict[str, int]" = {}
        self._passes = 0

    def begin_pass(self) -> None:
        """Start again from the first word; the second pass knows all labels."""
        self.words = []
        self.wrap_to = 0
        self.wrap_at = -1
        self._passes += 1

    def end(self) -> None:
        """Check the length and close the loop."""
        if not 0 < len(self.words) <= LONGEST:
            raise ValueError("a program has 1 to 32 instructions")
        if self.wrap_at < 0:
            self.wrap_at = len(self.words) - 1

    def instructions(self) -> "dict[str, object]":
        """Return the names that a program may use."""
        names: "dict[str, object]" = {name: name for name in NAMES}
        names.update((name, name) for name in CONDITIONS)
        names.update(
            jmp=self.jmp, wait=self.wait, in_=self.in_, out=self.out, push=self.push, pull=self.pull, mov=self.mov
        )
        names.update(set=self.set, nop=self.nop, label=self.label, wrap=self.wrap, wrap_target=self.wrap_target)
        names.update(block=0x20, noblock=0, iffull=0x40, ifempty=0x40, invert=Inverted)
        return names

    def _word(self, word: int) -> Delayable:
        self.words.append(word)
        return Delayable(self)

    def label(self, name: str) -> None:
        """Name the place of the next instruction."""
        if self._passes == 1 and name in self._labels:
            raise ValueError("label " + name + " stands twice")
        self._labels[name] = len(self.words)

    def wrap_target(self) -> None:
        """Say where the loop begins."""
        self.wrap_to = len(self.words)

    def wrap(self) -> None:
        """Say that the instruction before is the last of the loop."""
        self.wrap_at = len(self.words) - 1

    def jmp(self, condition: str, target: "str | None" = None) -> Delayable:
        """Jump to a label, always or on a condition."""
        if target is None:
            condition, target = "", condition
        code = CONDITIONS[condition] if condition else 0
        place = 0 if self._passes == 1 else self._labels[target]
        return self._word(code << 5 | place)

    def wait(self, polarity: int, source: str, index: int) -> Delayable:
        """Stall until a pin has a level."""
        return self._word(0x2000 | polarity << 7 | WAIT_SOURCES[source] << 5 | index)

    def in_(self, source: str, count: int) -> Delayable:
        """Shift bits into the input register."""
        return self._word(0x4000 | IN_SOURCES[source] << 5 | count & 31)

    def out(self, target: str, count: int) -> Delayable:
        """Shift bits out of the output register."""
        return self._word(0x6000 | OUT_TARGETS[target] << 5 | count & 31)

    def push(self, *how: int) -> Delayable:
        """Push the input register to the queue."""
        return self._word(0x8000 | _flags(how))

    def pull(self, *how: int) -> Delayable:
        """Pull the next word from the queue."""
        return self._word(0x8080 | _flags(how))

    def mov(self, target: str, source: "str | Inverted") -> Delayable:
        """Copy one register to another."""
        operation = 0
        if isinstance(source, Inverted):
            operation, source = 1, source.source
        return self._word(0xA000 | MOV_TARGETS[target] << 5 | operation << 3 | MOV_SOURCES[source])

    def set(self, target: str, value: int) -> Delayable:
        """Set pins or a register to a small number."""
        if not 0 <= value < 32:
            raise ValueError("set takes 0 to 31")
        return self._word(0xE000 | SET_TARGETS[target] << 5 | value)

    def nop(self) -> Delayable:
        """Let a cycle pass."""
        return self.mov("y", "y")


def _flags(how: "tuple[int, ...]") -> int:
    value = 0x20 if 0 not in how else 0
    for flag in how:
        value |= flag & 0x40
    return value
