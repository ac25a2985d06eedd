"""A bench for the whole command: a tester on a pseudo-terminal, and hands that plug cables in and out."""

import os
import pty
import select
import threading
import tty
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import combinations

from tests.bench.world import Cable
from tests.tester.peers import frame, without_check

SOCKET = [f'"{k}"' for k in (1, 2, 3, 4, 5, 6, 7, 8, "S")]
EMPTY_LOOKS = 3  # the hands are quick


class Bench:
    """Answers the few questions a tester without a watch is asked; plugs in the next cable when the last one is out.

    Whoever reads the verdict calls `seen`, and the hands take the cable out.
    """

    def __init__(self, faults: list[str]) -> None:
        self.rack = [Cable(number, fault) for number, fault in enumerate(faults)]
        self.todo = list(range(len(faults)))
        self.cable: Cable | None = None
        self._lock = threading.Lock()
        self._empty = 0

    def add(self, fault: str) -> None:
        """Put one more cable on the rack."""
        with self._lock:
            self.rack.append(Cable(len(self.rack), fault))
            self.todo.append(len(self.rack) - 1)

    def scan(self) -> dict[tuple[int, int], int]:
        """Return what a scan sees now; after a few looks at empty sockets, the next cable is in."""
        with self._lock:
            if self.cable is None:
                self._empty += 1
                if self._empty > EMPTY_LOOKS and self.todo:
                    self.cable = self.rack[self.todo[0]]
            cable = self.cable
            return {} if cable is None else dict.fromkeys(cable.joined, round(1000 * cable.ohm))

    def seen(self) -> int:
        """Note that the verdict of the cable that is in was seen, take it out, and return its number."""
        with self._lock:
            assert self.cable is not None, "a verdict was shown while no cable was in"
            number = self.cable.number
            if number in self.todo:
                self.todo.remove(number)
            self._take_out()
            return number

    def take_out(self) -> None:
        """Take out whatever is in."""
        with self._lock:
            self._take_out()

    def _take_out(self) -> None:
        self.cable = None
        self._empty = 0

    def answer(self, line: str) -> bytes:
        """Return the answer to one line."""
        header, _, tag = without_check(line).partition(" ")
        match header:
            case "*IDN?":
                return b"WIREMAP,BENCH-18,W1,1.0\n"
            case "TESTer:FEATures?":
                return frame(tag, "OK", "RES")
            case "TESTer:CONTacts?":
                return frame(tag, "OK", 9, 9, *SOCKET, *SOCKET)
            case "TESTer:RESolution?":
                return frame(tag, "OK", 20)
            case "MEASure:ARRay:RESistance?":
                seen = self.scan()
                return frame(tag, "OK", 18, *(seen.get(pair, "9.9E37") for pair in combinations(range(18), 2)))
        return b""


@contextmanager
def plugged_in(bench: Bench) -> Iterator[str]:
    """Connect the bench's tester and give its address; it stays when its host dies."""
    master, slave = pty.openpty()
    tty.setraw(slave)
    wake, stop = os.pipe()

    def serve() -> None:
        waiting = b""
        while True:
            ready, _, _ = select.select([master, wake], [], [])
            if wake in ready:
                return
            waiting += os.read(master, 4096)
            *lines, waiting = waiting.split(b"\n")
            for line in lines:
                os.write(master, bench.answer(line.decode("ascii", "replace")))

    thread = threading.Thread(target=serve)
    thread.start()
    try:
        yield os.ttyname(slave)
    finally:
        os.close(stop)
        thread.join()
        for handle in (master, slave, wake):
            os.close(handle)
