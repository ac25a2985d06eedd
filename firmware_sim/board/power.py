"""Switching the board on: argv names the cable's tables, the pace and, for tests, a file for what was driven."""

import gc
import json
import sys

import utime

from firmware_sim.board.bare.board import PINS, BareBoard
from firmware_sim.board.bench.board import BenchBoard
from firmware_sim.board.board import Board
from firmware_sim.board.bus_parts import BusParts
from firmware_sim.board.cable import Cable
from firmware_sim.board.clock import Clock
from firmware_sim.board.noise import Noise

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

GARBAGE = 1_000_000


def given(name: str) -> "dict[str, Any]":
    """Return the tables in a file, or, for "-", those that come on standard input behind a line with their length."""
    tables: "dict[str, Any]"
    if name != "-":
        with open(name) as file:
            tables = json.load(file)
        return tables
    read = sys.stdin.buffer.read
    length = 0
    while (digit := read(1)) != b"\n":
        length = length * 10 + int(digit)
    content = b""
    while len(content) < length:
        content += read(length - len(content))
    tables = json.loads(content)
    return tables


def power_up(arguments: "list[str]") -> "Board | BareBoard | BenchBoard":
    """Return the board with the cable of the tables named first, at the pace named second."""
    tables = given(arguments[0])
    described = tables.get("board") or {}
    clock = Clock(utime if arguments[1] == "real" else None)
    cable, noise = Cable(tables), Noise(tables["seed"])
    made: "Board | BareBoard | BenchBoard"
    if described.get("name") in PINS:
        made = BareBoard(clock, cable, noise, described)
    elif described.get("name") == "bench":
        made = BenchBoard(clock, cable, noise, described)
    else:
        made = Board(clock, cable, noise, described.get("faults") or [])
    if len(arguments) > 2:
        driven = open(arguments[2], "ab", 0)  # nothing is kept back, and nothing flushed to the disk either

        def note(now_us: int, what: str, first: int, second: int) -> None:
            driven.write(b"%d %s %d %d\n" % (now_us, what.encode(), first, second))

        made.note = note
    return made


if hasattr(gc, "threshold"):
    gc.threshold(GARBAGE)  # MicroPython's heap is not compacted: what is collected late lies scattered
board = power_up(sys.argv[1:])
clock = board.clock
reference = board if isinstance(board, Board) else None
bench = board if isinstance(board, BenchBoard) else None
bus_parts = BusParts(board) if isinstance(board, Board) else bench  # what hangs on I2C
pins = board.switchboard if isinstance(board, Board) else board  # what holds the levels of the chip's pins
