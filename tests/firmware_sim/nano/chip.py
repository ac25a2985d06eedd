"""ATmega328P programs in simavr, with a cable between their pins: built, started, ordered, asked."""

import binascii
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterable, Sequence
from functools import cache
from itertools import combinations
from pathlib import Path
from types import TracebackType

import pytest

import firmware_sim

HERE = Path(__file__).parent
NANO = Path(firmware_sim.__file__).parent / "nano"
SIMAVR = Path("/usr/include/simavr/sim_avr.h")
N = 18
PINS = ",".join([*(f"D{pin}" for pin in range(2, 13)), *(f"A{pin}" for pin in range(6)), "A7"])
LEAD_OHM, BLEED_OHM = 68_000, 1_000_000
HELD_LOW_MV = 1_500  # VIL of an ATmega328P at 5 V, 0.3 of the supply (from memory of its data sheet)
HELD_HIGH_MV = 3_000  # VIH, 0.6 of the supply
BESIDE_PF_A_METRE, FOIL_PF_A_METRE = 25.0, 28.0  # of a foiled cable: 20 nF of foil at 90 m (from memory)
Nets = Iterable[Sequence[int]]  # contacts from 1


def need_simavr() -> None:
    """Skip where programs for the chip cannot be built or run."""
    for program in ("avr-gcc", "make", "cc"):
        if shutil.which(program) is None:
            pytest.skip(f"{program} is not installed (Debian: gcc-avr avr-libc libsimavr-dev make gcc)")
    if not SIMAVR.exists():
        pytest.skip("simavr is not installed (Debian: libsimavr-dev)")


@cache
def _folder() -> Path:
    return Path(tempfile.mkdtemp(prefix="chip-"))


@cache
def firmware() -> Path:
    """Return the tester's program, built as its Makefile builds it."""
    need_simavr()
    out = _folder()
    subprocess.run(["make", "-s", "-C", str(NANO), f"OUT={out}"], check=True, stdout=subprocess.DEVNULL)
    return out / "bare.elf"


@cache
def sketch(name: str) -> Path:
    """Return a stranger's program, built."""
    need_simavr()
    out = _folder() / f"{name}.elf"
    flags = ["-mmcu=atmega328p", "-DF_CPU=16000000UL", "-Os", "-std=gnu11", "-Wall"]
    source = [str(HERE / "sketches" / f"{name}.c"), str(HERE / "sketches" / "serial.c")]
    subprocess.run(["avr-gcc", *flags, "-o", str(out), *source], check=True)
    return out


@cache
def _board() -> Path:
    need_simavr()
    out = _folder() / "board"
    sources = [str(HERE / "board.c"), str(HERE / "circuit.c")]
    flags = ["-O2", "-std=gnu11", "-Wall", "-Wextra", "-Werror"]
    subprocess.run(["cc", *flags, "-o", str(out), *sources, "-lsimavr", "-lm"], check=True)
    return out


class Chip:
    """A program on its board; `address` is its line, orders change what is in the sockets."""

    def __init__(
        self,
        program: Path,
        *,
        pins: str = PINS,
        lead_ohm: float = LEAD_OHM,
        bleed_ohm: float = BLEED_OHM,
        threshold_mv: int = 2_500,
        real_pace: bool = False,
        boot_ms: int = 0,
    ) -> None:
        command = [str(_board()), str(program), pins, str(lead_ohm), str(bleed_ohm), str(threshold_mv)]
        self._process = subprocess.Popen(
            [*command, str(int(real_pace)), str(boot_ms)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            bufsize=1,
        )
        assert self._process.stdout is not None
        # simavr tells on standard output what it loads.
        self.address = next(line.strip() for line in self._process.stdout if line.startswith("socket://"))
        self._line: socket.socket | None = None
        self._left = b""
        self._tag = 0

    def __enter__(self) -> "Chip":
        return self

    def __exit__(self, kind: type[BaseException] | None, value: BaseException | None, at: TracebackType | None) -> None:
        self.hang_up()
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.close()
        try:
            self._process.wait(20)
        finally:
            self._process.kill()
            self._process.wait()
            self._process.stdout.close()

    def order(self, order: str) -> str:
        """Give one order (board.c) and return what is answered."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(order + "\n")
        answer = self._process.stdout.readline().strip()
        assert answer, f"the board ended at {order!r}"
        assert not answer.startswith("unknown"), answer
        return answer

    def put(self, nets: Nets, ohm: float = 0.2, metres: float = 0.0) -> None:
        """Put a cable in: its nets, each joined by so many ohms, and the capacitance of its conductors and foil."""
        self.order("empty")
        for first, *others in nets:
            for other in others:
                self.order(f"join {first} {other} {ohm}")
        if metres:
            for a in range(1, 9):
                self.order(f"capacitance {a} {a % 8 + 1} {BESIDE_PF_A_METRE * metres}")
                self.order(f"capacitance {a} 9 {FOIL_PF_A_METRE * metres}")

    def report(self) -> dict[str, int]:
        """Return what the board has seen of its pins so far."""
        words = self.order("report").split()
        return {word: int(value) for word, value in zip(words[::2], words[1::2], strict=True)}

    @property
    def line(self) -> socket.socket:
        """Return the line, opened."""
        if self._line is None:
            host, port = self.address.removeprefix("socket://").split(":")
            self._line = socket.create_connection((host, int(port)), timeout=60)
        return self._line

    def hang_up(self) -> None:
        """Close the line."""
        if self._line is not None:
            self._line.close()
            self._line = None
            self._left = b""

    def send(self, message: bytes | str) -> None:
        """Send bytes as they are, or a text as a program message."""
        self.line.sendall(message if isinstance(message, bytes) else message.encode("latin-1") + b"\n")

    def ask(self, message: str) -> str:
        """Send a query and return its answer line."""
        self.send(message)
        while b"\n" not in self._left:
            more = self.line.recv(4096)
            assert more, f"the line was closed while {message!r} was asked"
            self._left += more
        answer, _, self._left = self._left.partition(b"\n")
        return answer.decode("latin-1")

    def measure(self, header: str, *parameters: object) -> list[str]:
        """Ask a measurement query; return status and fields after checking tag and CRC by hand."""
        self._tag += 1
        bare = f"{header} {','.join(map(str, (self._tag, *parameters)))}"
        answer = self.ask(f"{bare},#H{binascii.crc32(bare.encode()):08X}")
        content, _, seal = answer.rpartition(",")
        assert seal == f"#H{binascii.crc32(content.encode()):08X}", answer
        tag, *rest = content.split(",")
        assert int(tag) == self._tag
        return rest

    def joined(self) -> set[tuple[int, int]]:
        """Scan; return the pairs that are joined, contacts from 1."""
        status, count, *values = self.measure("MEAS:ARR:CONT?")
        assert (status, count) == ("OK", str(N)), (status, count, *values)
        pairs = list(combinations(range(1, N + 1), 2))
        assert set(values) <= {"0", "1"}
        return {pair for pair, value in zip(pairs, values, strict=True) if value == "1"}


def pairs_of(nets: Nets) -> set[tuple[int, int]]:
    """Return the pairs that nets join."""
    return {(min(pair), max(pair)) for net in nets for pair in combinations(net, 2)}
