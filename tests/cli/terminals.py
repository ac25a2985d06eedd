"""A real terminal of any size: a command runs in it, keys are pressed, its screen is read."""

import os
import shlex
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import pytest

TMUX = shutil.which("tmux")
PATIENCE_S = 60.0


class Terminal:
    """One terminal; `screen` is what stands on it."""

    def __init__(self, socket: Path, width: int, height: int, environment: Mapping[str, str]) -> None:
        self._socket = socket
        self.width, self.height = width, height
        settings = [f"-e{name}={value}" for name, value in environment.items()]
        size = ["-x", str(width), "-y", str(height)]
        self._tmux("new-session", "-d", *size, *settings, "bash --norc --noprofile")

    def _tmux(self, *words: str) -> str:
        command = [str(TMUX), "-S", str(self._socket), "-f", os.devnull, *words]
        return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=True).stdout

    def start(self, *words: str, before: str = "", end: str = "echo ended $?") -> None:
        """Start wiremap with these words; before: assignments of the shell's, end: what it does after."""
        program = shlex.join([sys.executable, "-m", "wiremap", *words])
        self._tmux("send-keys", f"clear; {before} {program}; {end}", "Enter")

    def press(self, *keys: str) -> None:
        """Press keys, by tmux's names."""
        self._tmux("send-keys", *keys)

    def type(self, text: str) -> None:
        """Type a text."""
        self._tmux("send-keys", "-l", text)

    def screen(self) -> list[str]:
        """Return the lines on the screen."""
        return self._tmux("capture-pane", "-p").rstrip("\n").split("\n")

    def coloured(self) -> str:
        """Return the screen with its colours, as SGR codes (ECMA-48)."""
        return self._tmux("capture-pane", "-p", "-e")

    def wait_for(self, text: str) -> list[str]:
        """Wait until a text stands on the screen, its lines put together, and return the screen."""
        until_s = time.monotonic() + PATIENCE_S
        while time.monotonic() < until_s:
            lines = self.screen()
            if text in " ".join(line.strip() for line in lines):
                return lines
            time.sleep(0.1)
        raise AssertionError(f"never saw {text!r}; the screen says:\n" + "\n".join(self.screen()))


@contextmanager
def terminal(folder: Path, width: int, height: int, **environment: str) -> Iterator[Terminal]:
    """Give a terminal of this size; the test is skipped where there is no tmux."""
    if TMUX is None:
        pytest.skip("tmux is not installed")
    usual = {"PYTHONPATH": os.pathsep.join(sys.path), "LC_ALL": "C.UTF-8", "OMP_NUM_THREADS": "1"}
    socket = folder / "tmux"
    try:
        yield Terminal(socket, width, height, usual | environment)
    finally:
        subprocess.run([TMUX, "-S", str(socket), "kill-server"], capture_output=True, check=False)
