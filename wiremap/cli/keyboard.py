"""What is typed while a command runs: single keys from a terminal, lines from a pipe."""

import importlib
import os
import select
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from wiremap.cli.output import at_width
from wiremap.errors import spelled_out


class Keyboard:
    """Standard input, read without waiting for Enter where it is a terminal."""

    def __init__(self) -> None:
        self.is_terminal = sys.stdin.isatty()
        self.is_open = True
        self._usual: Any = None

    def read(self, wait_s: float) -> str:
        """Return what was typed, after waiting for it for at most so long; "" = nothing."""
        if not self.is_open or os.name == "nt":
            time.sleep(wait_s)
            return self._console() if self.is_open and self.is_terminal else ""
        ready, _, _ = select.select([sys.stdin.fileno()], [], [], wait_s)
        if not ready:
            return ""
        content = os.read(sys.stdin.fileno(), 4096)
        self.is_open = bool(content)
        return content.decode("utf-8", "replace")

    def ask(self, question: str) -> str:
        """Ask for a line, shown as it is typed; "" when there is none."""
        if not self.is_open:
            return ""
        with self._whole_lines():
            sys.stderr.write(at_width(spelled_out(question)))
            sys.stderr.flush()
            line = b""
            while not line.endswith(b"\n") and (more := os.read(sys.stdin.fileno(), 1)):
                line += more
        return line.decode("utf-8", "replace").strip()

    @contextmanager
    def _whole_lines(self) -> Iterator[None]:
        if self._usual is None:
            yield
            return
        termios = importlib.import_module("termios")
        single = termios.tcgetattr(sys.stdin)
        termios.tcsetattr(sys.stdin, termios.TCSADRAIN, self._usual)
        try:
            yield
        finally:
            termios.tcsetattr(sys.stdin, termios.TCSADRAIN, single)

    @contextmanager
    def single_keys(self) -> Iterator["Keyboard"]:
        """Read keys as they are pressed, while this lasts; Ctrl-C still interrupts."""
        if not self.is_terminal or os.name == "nt":
            yield self
            return
        termios, tty = importlib.import_module("termios"), importlib.import_module("tty")
        self._usual = termios.tcgetattr(sys.stdin)
        tty.setcbreak(sys.stdin)
        try:
            yield self
        finally:
            termios.tcsetattr(sys.stdin, termios.TCSADRAIN, self._usual)
            self._usual = None

    @staticmethod
    def _console() -> str:
        console = importlib.import_module("msvcrt")
        typed = ""
        while console.kbhit():
            typed += console.getwch()
        return typed
