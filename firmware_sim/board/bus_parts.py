"""The parts on the I2C bus, as their data sheets have them: output expander, 16-bit converter, delay converter."""

from firmware_sim.board import levels
from firmware_sim.board.board import Board

EXPANDER, CONVERTER, DELAY = 0x22, 0x48, 0x60
FULL_SCALE_UV = (6_144_000, 4_096_000, 2_048_000, 1_024_000, 512_000, 256_000)
RATES = (8, 16, 32, 64, 128, 250, 475, 860)


class BusParts:
    """What answers at the three addresses."""

    def __init__(self, board: Board) -> None:
        self._board = board
        self._pointer = 0
        self._setting = 0x8583
        self._result = 0
        self._ready_us = 0

    def addresses(self) -> "list[int]":
        """Return the addresses at which somebody answers."""
        there = [EXPANDER, CONVERTER, DELAY]
        return [address for address in there if not (address == CONVERTER and "converter" in self._board.faults)]

    def write(self, address: int, content: bytes) -> None:
        """Take what is written to a part."""
        if address not in self.addresses():
            raise OSError(5)
        if address == EXPANDER:
            self._expander(content)
        elif address == DELAY:
            self._board.switchboard.delay_counts = (content[0] & 15) << 8 | content[1]
        else:
            self._pointer = content[0]
            if self._pointer == 1 and len(content) == 3:
                self._convert(content[1] << 8 | content[2])

    def read(self, address: int, count: int) -> bytes:
        """Return what is read from the converter."""
        if address != CONVERTER or address not in self.addresses():
            raise OSError(5)
        ready = self._board.clock.now_us >= self._ready_us
        value = self._result if self._pointer == 0 and ready else self._setting
        return bytes((value >> 8 & 255, value & 255))[:count]

    def _expander(self, content: bytes) -> None:
        value = content[1] | content[2] << 8 | content[3] << 16
        if content[0] == 0x84:
            self._board.set_switches(value)
        elif content[0] == 0x8C:
            self._board.switchboard.switch_outputs = value == 0

    def _convert(self, setting: int) -> None:
        self._setting = setting
        full_scale = FULL_SCALE_UV[setting >> 9 & 7]
        microvolts = self._board.circuit.difference((setting >> 12 & 7) == 3)
        noise = self._board.noise.normal_x1024() * levels.ADC16_NOISE_UV >> 10
        count = (microvolts + noise) * 32768 // full_scale
        self._result = max(-32768, min(32767, count)) & 0xFFFF
        rate = RATES[setting >> 5 & 7]
        self._ready_us = self._board.clock.now_us + 1_000_000 // rate
