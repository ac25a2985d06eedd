"""A serial line at a speed of its own, on a pseudo-terminal: who opens it at another reads what his UART would sample.

A pseudo-terminal knows no speed and passes bytes on; but it keeps the speed that was asked for. Each byte here is sent
as a start bit, eight bits and a stop bit, and sampled in the middle of each bit at the reader's speed, as a UART does
after the falling edge of what it takes for a start bit. Both clocks are a little off.
"""

import fcntl
import os
import pty
import struct
import threading
import tty
from collections.abc import Iterator
from contextlib import contextmanager

TCGETS2 = 0x802C542A  # Linux: the settings of a terminal with its speed as a number
OUTPUT_SPEED_AT = 40


def speed_asked(terminal: int) -> int:
    """Return the speed that whoever opened the terminal asked for, baud."""
    settings = fcntl.ioctl(terminal, TCGETS2, bytes(44))
    (speed,) = struct.unpack_from("I", settings, OUTPUT_SPEED_AT)
    return int(speed)


def sampled(content: bytes, sent_baud: float, read_baud: float) -> bytes:
    """Return what a UART at one speed makes of bytes sent at another, one after the other.

    A stop bit that is low is a framing error; the byte is passed on all the same, as drivers do unless told otherwise.
    """
    levels = [1] * 20
    for byte in content:
        levels += [0, *(byte >> bit & 1 for bit in range(8)), 1]
    levels += [1] * 20
    step = sent_baud / read_baud  # bits of the sender in one of the reader
    at, found = 0.0, bytearray()

    def level(place: float) -> int:
        return levels[int(place)] if place < len(levels) else 1

    while at < len(levels):
        if level(at):
            at = float(int(at) + 1)  # edges lie between the sender's bits
            continue
        if level(at + step / 2):  # too short for a start bit
            at = float(int(at) + 1)
            continue
        found.append(sum(level(at + (1.5 + bit) * step) << bit for bit in range(8)))
        at += 9.5 * step
        while not level(at) and at < len(levels):  # a break: nothing begins before the line was high
            at += 1
    return bytes(found)


@contextmanager
def speaking(lines: str, baud: int, off: float = 0.01) -> Iterator[str]:
    """Print lines again and again at a speed, to whoever opens the terminal, and give its address."""
    master, slave = pty.openpty()
    tty.setraw(slave)
    os.set_blocking(master, False)
    stop = threading.Event()

    def serve() -> None:
        known: dict[int, bytes] = {}
        while not stop.wait(0.01):
            speed = speed_asked(slave)
            if speed not in known:
                known[speed] = sampled(lines.encode(), baud * (1 + off), speed)
            try:
                os.write(master, known[speed][:2000])
            except BlockingIOError:
                continue

    thread = threading.Thread(target=serve)
    thread.start()
    try:
        yield os.ttyname(slave)
    finally:
        stop.set()
        thread.join()
        os.close(slave)
        os.close(master)
