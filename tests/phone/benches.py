"""A tester on a pseudo-terminal, whose cables are put in and taken out by the test."""

from tests.bench.world import Cable
from tests.cli.benches import Bench


class HandBench(Bench):
    """A tester whose sockets hold what was put in last; mute, it answers nothing more."""

    def __init__(self, fault: str | None = None) -> None:
        super().__init__([])
        self.mute = False
        self._count = 0
        self.plug(fault)

    def plug(self, fault: str | None) -> None:
        """Put a cable in, or take out what is in."""
        self._count += 1
        with self._lock:
            self.cable = None if fault is None else Cable(self._count, fault)

    def answer(self, line: str) -> bytes:
        """Return the answer to one line."""
        return b"" if self.mute else super().answer(line)
