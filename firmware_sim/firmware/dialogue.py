"""The line to the host: whole program messages in, whole answer lines out. The only place that reads and writes."""

import select
import sys

LONGEST = 400  # the chip's own input ring holds 512 bytes

_poll = select.poll()
_poll.register(sys.stdin, select.POLLIN)
_pending = bytearray()
_overrun = [False]


class LineClosed(Exception):
    """The host's side of the line is gone; this happens where the line is a pipe, never on USB."""


class Overrun(Exception):
    """A program message was longer than the input buffer."""


def message(wait_ms: int) -> "str | None":
    """Return the next program message, or None when none is complete after a wait without input."""
    while _poll.poll(wait_ms):
        got = sys.stdin.buffer.read(1)
        if not got:
            raise LineClosed
        if got == b"\n":
            line = bytes(_pending)
            _pending[:] = b""
            if _overrun[0]:
                _overrun[0] = False
                raise Overrun
            return "".join(chr(code) for code in line).strip("\r ")
        if len(_pending) < LONGEST:
            _pending.extend(got)
        else:
            _overrun[0] = True
    return None


def answer(text: str) -> None:
    """Send one answer line."""
    sys.stdout.write(text)
    sys.stdout.write("\n")
