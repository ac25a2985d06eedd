"""Starts the simulator: a line for the host, a process with the firmware, and what passes between them.

The first line on standard output is the address alone. The firmware runs in a process of its own, on CPython or
on the MicroPython VM, with pipes as its USB port; the launcher relays, and does to the line what was asked for.
"""

import argparse
import contextlib
import importlib.util
import json
import os
import subprocess
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path
from typing import IO

from firmware_sim.cable_model.tables import tables
from firmware_sim.cable_model.written.cable_file import BOARDS
from firmware_sim.cable_model.written.named import cable_names, load_cable
from firmware_sim.cable_model.written.toml_file import DescriptionError
from firmware_sim.line.damage import Damage, DeadError
from firmware_sim.line.ends import LineEnd, open_end

PACKAGE = Path(__file__).parent
COMMON = ("answer", "commands", "dialogue", "main", "scpi", "watchdog")  # the firmware's files that every board has
MEASURING = ("nets", "trust", "watch", "whole", "windings")  # what the bench board has of the rest
# The folders of the firmware whose files a board has beside those; the reference board's lie among the common ones.
OWN_FILES = {"bench": ("bench",), "bare": ("bare", "bare/pico"), "bare-esp32": ("bare", "bare/esp32")}
START = "import sys; sys.path.pop(0); import main"  # not what lies where one happens to be
LAST_WORDS_S = 0.2  # what was sent before death is lost with the line; this long the host has to read it
HEAP = "16M"  # the board's model and the cable's tables share it with the firmware


def main(arguments: list[str] | None = None) -> int:
    """Run the simulator until its input closes, it is interrupted, or the firmware ends; return the exit code."""
    asked = _options().parse_args(arguments)
    if asked.files:
        for path in flashed(asked.files):
            print(path)
        return 0
    if asked.list:
        for name in cable_names():
            print(f"{name:<28}{load_cable(name).title}".rstrip())
        return 0
    try:
        description = load_cable(asked.cable)
        description = replace(description, board=asked.board or description.board)
        content = json.dumps(tables(description), separators=(",", ":")).encode()
        command = firmware_command(asked.vm, asked.pace or description.line.pace, asked.driven)
        environment = firmware_environment(description.board)
    except DescriptionError as error:
        print(error, file=sys.stderr)
        return 2
    damage = Damage(description.line, (asked.pace or description.line.pace) == "real", description.seed)
    end = open_end(asked.tcp, description.line.refuse_second, damage.connected)
    firmware = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, bufsize=0, env=environment)
    assert firmware.stdin is not None
    assert firmware.stdout is not None
    write_all(firmware.stdin, b"%d\n" % len(content) + content)
    threading.Thread(target=_requests, args=(end, firmware.stdin, damage), daemon=True).start()
    if asked.while_stdin_open:
        threading.Thread(target=_end_with_input, args=(firmware,), daemon=True).start()
    print(end.address, flush=True)
    try:
        _answers(firmware.stdout, end, damage)
    except KeyboardInterrupt:
        pass
    finally:
        end.close()
        firmware.kill()
        firmware.wait()
    return 0


def _options() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m firmware_sim", description="A cable tester in software.")
    parser.add_argument("--cable", default="patch", metavar="NAME|FILE.toml", help="the cable in its sockets")
    parser.add_argument("--list", action="store_true", help="name the cables that come with it")
    parser.add_argument("--tcp", action="store_true", help="a TCP port instead of a pseudo-terminal")
    parser.add_argument("--pace", choices=("fast", "real"), help="whether waiting takes time (else as the cable says)")
    parser.add_argument("--vm", choices=("cpython", "micropython"), default="cpython", help="what runs the firmware")
    parser.add_argument("--while-stdin-open", action="store_true", help="end when standard input closes")
    parser.add_argument("--board", choices=BOARDS, help="the tester's board (else as the cable says)")
    parser.add_argument("--files", choices=BOARDS, metavar="BOARD", help="name the files that are flashed to a board")
    parser.add_argument("--driven", metavar="FILE", help="append to FILE whatever the board drives")
    return parser


def firmware_command(vm: str, pace: str, driven: str | None, given: str = "-") -> list[str]:
    """Return the command that runs the firmware; its tables come on standard input unless a file is given."""
    last = [given, pace, *([driven] if driven else [])]
    if vm == "cpython":
        start = [sys.executable, "-I", "-S", str(PACKAGE / "board" / "cpython.py"), str(PACKAGE.parent)]
        return start + last
    if importlib.util.find_spec("micropython_unix") is None:
        raise DescriptionError("the MicroPython VM is not installed; the extra 'test' has it where there is a wheel")
    return [sys.executable, "-m", "micropython_unix", "-X", f"heapsize={HEAP}", "-c", START, *last]


def flashed(board: str) -> list[Path]:
    """Return the files that are flashed to a board."""
    folder = PACKAGE / "firmware"
    if board not in OWN_FILES:
        return sorted(folder.glob("*.py"))
    own = [path for name in OWN_FILES[board] for path in sorted((folder / name).glob("*.py"))]
    shared = (*COMMON, *MEASURING) if board == "bench" else COMMON
    return [*(folder / f"{name}.py" for name in shared), *own]


def firmware_environment(board: str = "reference") -> dict[str, str]:
    """Return the environment in which either VM finds the board and, a board's own files first, its firmware."""
    own = [str(PACKAGE / "firmware" / folder) for folder in OWN_FILES.get(board, ())]
    places = [str(PACKAGE / "board" / "path"), *own, str(PACKAGE / "firmware"), ".frozen", str(PACKAGE.parent)]
    return {**os.environ, "MICROPYPATH": os.pathsep.join(places)}


def write_all(pipe: IO[bytes], content: bytes) -> None:
    """Write all of it to an unbuffered pipe."""
    while content:
        content = content[pipe.write(content) :]


def _requests(end: LineEnd, pipe: IO[bytes], damage: Damage) -> None:
    with contextlib.suppress(OSError, ValueError):
        while content := end.read():
            write_all(pipe, damage.request(content))


def _answers(pipe: IO[bytes], end: LineEnd, damage: Damage) -> None:
    """Pass on the firmware's lines until it ends, or dies on request."""
    waiting = b""
    while content := pipe.read(65536):
        waiting += content
        while (length := waiting.find(b"\n") + 1) > 0:
            line, waiting = waiting[:length], waiting[length:]
            try:
                for piece in damage.answer(line):
                    end.write(piece)
            except DeadError:
                time.sleep(LAST_WORDS_S)
                return
    end.write(waiting)


def _end_with_input(firmware: "subprocess.Popen[bytes]") -> None:
    with contextlib.suppress(OSError):
        while os.read(sys.stdin.fileno(), 4096):
            pass
    firmware.kill()
