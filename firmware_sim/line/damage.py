"""What can happen to a line on request: pace, lost and flipped bits, stalls, stale bytes, a traceback, death."""

import random
import time
from collections.abc import Iterator

from firmware_sim.cable_model.written.cable_file import Line

STALE = b",9.9E37,9.9E37,#H5D0A77E1\r\n"
TRACEBACK = (
    b'Traceback (most recent call last):\r\n  File "main.py", line 25, in run\r\n'
    b"MemoryError: memory allocation failed, allocating 2048 bytes\r\n"
)
BYTE_S = 2.5e-6  # USB full speed as a serial port, about 400 kB/s: an estimate
LATENCY_S = 1e-3


class DeadError(Exception):
    """The tester died here."""


class Damage:
    """Passes bytes on as the description's line does; every random choice follows from the seed."""

    def __init__(self, line: Line, real_pace: bool, seed: int) -> None:
        self._line = line
        self._real = real_pace
        self._random = random.Random(seed)
        self._answers = 0
        self._stale_due = line.stale
        self._traceback_due = line.traceback

    def connected(self) -> None:
        """Note that a host has connected: bytes of an earlier answer may come first."""
        self._stale_due = self._line.stale

    def request(self, content: bytes) -> bytes:
        """Return what arrives of a request."""
        return self._hurt(content)

    def answer(self, content: bytes) -> Iterator[bytes]:
        """Give what arrives of one answer line, piece by piece; DeadError where the tester dies."""
        if self._stale_due:
            self._stale_due = False
            yield STALE
        self._answers += 1
        if self._line.die_after and self._answers > self._line.die_after:
            yield content[: len(content) // 2]
            raise DeadError
        content = self._hurt(content)
        half = len(content) // 2
        if self._traceback_due and b"#H" in content:
            self._traceback_due = False
            content = content[:half] + TRACEBACK + content[half:]
        if self._real:
            time.sleep(LATENCY_S + len(content) * BYTE_S)
        if self._line.stall_ms:
            yield content[:half]
            time.sleep(self._line.stall_ms / 1000)
            yield content[half:]
        else:
            yield content

    def _hurt(self, content: bytes) -> bytes:
        if not self._line.flip and not self._line.drop:
            return content
        hurt = bytearray()
        for byte in content:
            if self._random.random() < self._line.drop:
                continue
            if self._random.random() < self._line.flip:
                byte ^= 1 << self._random.randrange(8)
            hurt.append(byte)
        return bytes(hurt)
