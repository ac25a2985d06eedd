"""Peers that never stop: the reader must give up and stay small."""

import os
import pty
import resource
import select
import threading
import tty

import pytest

from wiremap.errors import TesterError
from wiremap.tester.answers import Answer
from wiremap.tester.line import LONGEST_LINE, open_line

MOST_GROWTH_KB = 20_000


def endless_line_is_given_up(seed: int, count: int) -> str:
    """Send up to `count` bytes without a line end; the reader must give up early and stay small."""
    master, slave = pty.openpty()
    tty.setraw(slave)
    os.set_blocking(master, False)
    done = threading.Event()
    chunk = bytes((0x30 + seed % 10,)) * 65_536

    def flood() -> None:
        sent = 0
        while sent < count and not done.is_set():
            _, writable, _ = select.select([], [master], [], 0.05)
            if writable:
                sent += os.write(master, chunk)

    thread = threading.Thread(target=flood)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    try:
        with open_line(os.ttyname(slave)) as opened:
            thread.start()
            with pytest.raises(TesterError, match="bytes came and no end of line"):
                opened.ask("MEASure:X?", parse=_fields, timeout_s=60.0)
    finally:
        done.set()
        thread.join()
        os.close(slave)
        os.close(master)
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert grown < MOST_GROWTH_KB, f"grew by {grown} kB"
    return f"given up after {LONGEST_LINE} of {count} bytes, memory grew by {grown} kB"


def _fields(answer: Answer) -> tuple[str, ...]:
    return answer.fields
