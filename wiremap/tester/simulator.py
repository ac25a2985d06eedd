"""The simulator as a process of its own: started with a cable, ended by closing its standard input."""

import os
import re
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from wiremap.errors import TesterError

DEFAULT_CABLE = "patch"
BOARD = re.compile("([a-z][a-z0-9-]+):")  # no letter of a drive: two characters and more
START_S = 30.0
END_S = 5.0


@contextmanager
def running_simulator(cable: str) -> Iterator[str]:
    """Start the simulator with a named cable or a cable file, and give its address.

    Before the cable may stand a board and a colon: "reference:patch"; else it is the board that the cable's file says.
    It ends when its standard input closes, so a killed program leaves none behind.
    """
    named = BOARD.match(cable)
    cable = (cable[named.end() :] if named else cable) or DEFAULT_CABLE
    command = [sys.executable, "-P", "-m", "firmware_sim", "--cable", cable, "--while-stdin-open"]
    command += ["--board", named[1]] if named else []
    with tempfile.TemporaryFile() as talk:
        process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=talk, env=_environment()
        )
        assert process.stdin is not None
        assert process.stdout is not None
        try:
            address = _first_line(process.stdout)
            if address is None:
                process.kill()
                process.wait()
                talk.seek(0)
                said = talk.read(10_000).decode("utf-8", "replace").strip()
                raise TesterError(
                    f"the simulator did not start with the cable '{cable}'" + (f": {said}" if said else ""),
                    "`python -m firmware_sim --list` names the cables; a cable file ends in .toml.",
                )
            yield address
        finally:
            process.stdin.close()
            try:
                process.wait(END_S)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
            process.stdout.close()


def _environment() -> dict[str, str]:
    """Return the environment in which the simulator that lies beside this package is found first."""
    beside = str(Path(__file__).parents[2])
    others = os.environ.get("PYTHONPATH")
    return {**os.environ, "PYTHONPATH": os.pathsep.join([beside, others] if others else [beside])}


def _first_line(stream: IO[bytes]) -> str | None:
    """Return the first line in time; None when the stream ended, or stayed silent, before one."""
    got: list[bytes] = []
    reader = threading.Thread(target=lambda: got.append(stream.readline(1000)), daemon=True)
    reader.start()
    reader.join(START_S)
    text = got[0].decode("ascii", "replace").strip() if got else ""
    return text or None
