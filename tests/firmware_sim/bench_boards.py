"""A bench board for tests, its cable as tables from a description, and its ports written as its chips have them."""

from pathlib import Path
from typing import Any

from firmware_sim.board.bench.board import BenchBoard
from firmware_sim.board.cable import Cable
from firmware_sim.board.clock import Clock
from firmware_sim.board.noise import Noise
from firmware_sim.cable_model.tables import tables
from firmware_sim.cable_model.written.description import description_in
from tests.firmware_sim.processes import Tables

ALL = (1 << 9) - 1
OUTPUTS = 0xFF << 2 | 1 << 14 | 1 << 15 | 1 << 17  # addresses, LIFT, rail, chip select
SELECT = 1 << 17
UP_A, DOWN_A, UP_B, DOWN_B = (1 << pin for pin in (10, 11, 12, 13))
STEP, PEDESTAL = 1, 2


def bench_tables(board: dict[str, Any] | None = None, **described: Any) -> Tables:
    """Return the tables of a cable described as in its file, straight and unscreened 2 m if nothing is said of it."""
    given = {"format": 1, "near": "T568B", "far": "T568B", "segment": [{"cable": "UTP", "length_m": 2.0}]} | described
    found = tables(description_in("test", given | {"board": "bench"}, Path()))
    found["board"] |= board or {}
    return found


class Driven:
    """A bench board driven by hand: contacts low or high, multiplexers, pulls and steps."""

    def __init__(self, board: dict[str, Any] | None = None, **described: Any) -> None:
        given = bench_tables(board, **described)
        self.tables = given
        self.board = BenchBoard(Clock(), Cable(given), Noise(given["seed"]), given["board"])
        self.board.set_outputs(SELECT | 0xFF << 2, OUTPUTS)  # rail on, both multiplexers parked
        self.send(0x40, 0x0A, 8)
        self.drive(low=ALL | ALL << 9)
        self.board.advance(10_000)

    def send(self, *message: int) -> bytes:
        """Send one message to the ports."""
        board = self.board
        board.set_outputs(board.outputs & ~SELECT, board.directions)
        answer = board.transfer(bytes(message))
        board.set_outputs(board.outputs | SELECT, board.directions)
        return answer

    def drive(self, low: int = 0, high: int = 0, near_steps: int = 0, far_steps: int = 0) -> None:
        """Hold contacts low or high, a bit each, all others float; steps: 1 STEP, 2 PED."""
        for port, steps in ((0, near_steps), (1, far_steps)):
            held = (low | high) >> 9 * port & ALL
            latch = _pins(high >> 9 * port & ALL) | steps << 10
            inputs = 0xFFFF & ~_pins(held) & ~(3 << 10)
            self.send(0x40 | port << 1, 0x14, latch & 255, latch >> 8, inputs & 255, inputs >> 8)

    def look_at(self, a: int, b: int) -> None:
        """Turn both multiplexers."""
        board = self.board
        board.set_outputs(board.outputs & ~(0xFF << 2) | a << 2 | b << 6, board.directions)

    def pull(self, up: int = 0, down: int = 0) -> None:
        """Switch on UP_A, UP_B, or DOWN_A, DOWN_B, and all others off."""
        board = self.board
        board.set_outputs(board.outputs & ~(15 << 10) | up, board.directions & ~(15 << 10) | up | down)

    def lift(self, on: bool) -> None:
        """Lift the near port's ground."""
        board = self.board
        board.set_outputs(board.outputs & ~(1 << 14) | on << 14, board.directions)

    def after(self, us: int) -> list[float]:
        """Return all voltages after a time: 18 contacts, common A is 18, common B is 21."""
        self.board.advance(us)
        return self.board.nodes.volts()


def _pins(contacts: int) -> int:
    return contacts & 0x7F | contacts >> 7 << 8
