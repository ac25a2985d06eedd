"""Starts the firmware on CPython: `python cpython.py ROOT TABLES PACE [DRIVEN]`.

Gives it what MicroPython has and CPython lacks (utime, an unbuffered standard input that poll and read agree
about), puts the board's modules before the standard ones, and runs main.py.
"""

import importlib.util
import os
import queue
import select
import sys
import threading
import time
import types
from pathlib import Path

BOARD = Path(__file__).parent
FIRMWARE = BOARD.parent / "firmware"


class Input:
    """Standard input read byte by byte, with a poll that knows what was read ahead.

    A thread reads where the system has no select.poll (Windows).
    """

    def __init__(self) -> None:
        self._ahead = b""
        self._poll = None
        if hasattr(select, "poll"):
            self._poll = select.poll()
            self._poll.register(0, select.POLLIN)
        else:
            self._queue: queue.Queue[bytes] = queue.Queue()
            threading.Thread(target=self._read_on, daemon=True).start()
        self.buffer = self

    def _read_on(self) -> None:
        while content := os.read(0, 4096):
            self._queue.put(content)
        self._queue.put(b"")

    def ready(self, wait_ms: int) -> bool:
        """Return whether a byte, or the end, can be read without waiting longer than wait_ms."""
        if self._ahead:
            return True
        if self._poll:
            return bool(self._poll.poll(wait_ms))
        try:
            self._ahead = self._queue.get(timeout=wait_ms / 1000)
        except queue.Empty:
            return False
        if not self._ahead:
            self._queue.put(b"")
        return True

    def read(self, count: int) -> bytes:
        """Return up to count bytes, b"" at the end."""
        if not self._ahead:
            if self._poll:
                self._ahead = os.read(0, 4096)
            else:
                self.ready(1 << 20)
        content, self._ahead = self._ahead[:count], self._ahead[count:]
        return content


class Poll:
    """MicroPython's poll, over the one thing the firmware polls."""

    def register(self, stream: Input, _events: int) -> None:
        """Take the stream to watch."""
        self._stream = stream

    def poll(self, wait_ms: int) -> list[tuple[Input, int]]:
        """Return what can be read within wait_ms."""
        return [(self._stream, 1)] if self._stream.ready(wait_ms) else []


class Output:
    """Standard output that keeps nothing back."""

    def flush(self) -> None:
        """Do nothing: all is written."""

    def write(self, text: str) -> None:
        """Write all of a text."""
        content = text.encode()
        while content:
            content = content[os.write(1, content) :]


def micropython_time() -> types.ModuleType:
    """Return the wall clock as MicroPython names it."""
    module = types.ModuleType("utime")
    vars(module).update(
        ticks_us=lambda: time.perf_counter_ns() // 1000,
        ticks_diff=lambda later, earlier: later - earlier,
        sleep_us=lambda us: time.sleep(us / 1_000_000),
    )
    return module


def main(program: str = "main") -> None:
    """Run main.py as the chip would, or another program on the path in its place."""
    root, *sys.argv[1:] = sys.argv[1:]
    chosen = types.ModuleType("select")
    vars(chosen).update(poll=Poll, POLLIN=1)
    vars(sys).update(stdin=Input(), stdout=Output())
    sys.modules["utime"] = micropython_time()
    sys.modules["select"] = chosen
    given = os.environ.get("MICROPYPATH", "").split(os.pathsep)
    sys.path[:0] = [place for place in given if place not in ("", ".frozen")] or [
        str(BOARD / "path"),
        str(FIRMWARE),
        root,
    ]
    # `time` is built in and would be found first, so the board's is put in its place by hand.
    described = importlib.util.spec_from_file_location("time", BOARD / "path" / "time.py")
    assert described is not None
    assert described.loader is not None
    sys.modules["time"] = importlib.util.module_from_spec(described)
    described.loader.exec_module(sys.modules["time"])
    __import__(program)


if __name__ == "__main__":
    main()
