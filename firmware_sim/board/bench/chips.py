"""Ports and converters, as their data sheets have them (from memory)."""

from math import cos

from firmware_sim.board.bench.nodes import STEP_US, Nodes
from firmware_sim.board.bench.values import (
    FINE_NOISE_COUNTS,
    FINE_NOISE_V,
    JUMPS_AT,
    NOISE_COUNTS,
    OFFSET_COUNTS,
    SIDE,
)
from firmware_sim.board.noise import Noise

IODIR_A, IODIR_B, IOCON, GPIO_A, GPIO_B, OLAT_A, OLAT_B = 0x00, 0x01, 0x0A, 0x12, 0x13, 0x14, 0x15
ADDRESSED = 1 << 3  # in IOCON: the chip looks at its address pins
FULL_SCALES_V = (6.144, 4.096, 2.048, 1.024, 0.512, 0.256, 0.256, 0.256)
FASTEST = 7  # data rate
DIFFERENCE, UNITY_DIFFERENCE, UNITY_A, UNITY_B = 0, 3, 6, 7
STILL_V = 1e-8  # of what hardly changes any more, the rest of a conversion is not followed


class Port:
    """A 16-bit port on SPI: registers that count up and wrap, inputs at power-up."""

    def __init__(self, address: int) -> None:
        self._address = address
        self.registers = bytearray(22)
        self.power_up()

    def power_up(self) -> None:
        """Forget everything: all pins are inputs."""
        for at in range(len(self.registers)):
            self.registers[at] = 0xFF if at in (IODIR_A, IODIR_B) else 0

    def transfer(self, sent: bytes) -> "bytes | None":
        """Take one message; return what is read, None if the message is for another chip."""
        address = self._address if self.registers[IOCON] & ADDRESSED else 0
        if sent[0] >> 4 != 4 or sent[0] >> 1 & 7 != address:
            return None
        at = sent[1]
        read = bytearray(2)
        for byte in sent[2:]:
            if sent[0] & 1:
                read.append(self._level(at))
            elif at in (IOCON, IOCON + 1):
                self.registers[IOCON] = self.registers[IOCON + 1] = byte
            else:
                self.registers[at + 2 if at in (GPIO_A, GPIO_B) else at] = byte
            at = (at + 1) % len(self.registers)
        return bytes(read)

    def _level(self, at: int) -> int:
        """Return a register; of pins only those that are outputs, the firmware reads no other."""
        if at in (GPIO_A, GPIO_B):
            return self.registers[at + 2] & ~self.registers[at - GPIO_A] & 0xFF
        return self.registers[at]

    def driven(self) -> "tuple[int, int]":
        """Return the pins driven low and high, a bit each, A lowest."""
        out = ~(self.registers[IODIR_A] | self.registers[IODIR_B] << 8) & 0xFFFF
        latch = self.registers[OLAT_A] | self.registers[OLAT_B] << 8
        return out & ~latch, out & latch


class Amplifiers:
    """What the four amplifiers make of the commons: each once, and their difference eleven times."""

    def __init__(self, nodes: Nodes, stuck: bool) -> None:
        self._nodes = nodes
        self._stuck = stuck

    def unity(self, side: int, volts: float) -> float:
        """Return what a buffer makes of a common."""
        values = self._nodes.values
        if not self._nodes.wiring.powered:
            return 0.0
        return max(values.floor_v[side], min(values.rail_v, volts + values.offset_v[side]))

    def difference(self, a: float, b: float) -> float:
        """Return eleven times the difference of two commons, as far as the rails let it."""
        values = self._nodes.values
        if self._stuck or not self._nodes.wiring.powered:
            return 0.0
        a, b = a + values.offset_v[2], b + values.offset_v[3]
        upper, lower = (a + b + values.gain * (a - b)) / 2, (a + b - values.gain * (a - b)) / 2
        top, floor = values.rail_v, values.floor_v
        return max(floor[0], min(top, upper)) - max(floor[1], min(top, lower))


class QuickConverter:
    """The chip's own 12-bit converter: noise, offset, and a code that jumps at four places."""

    def __init__(self, nodes: Nodes, amplifiers: Amplifiers, noise: Noise) -> None:
        self._nodes = nodes
        self._amplifiers = amplifiers
        self._noise = noise
        self._slope = (4096 - sum(nodes.values.jumps)) / 4096

    def count(self, side: int) -> int:
        """Convert the buffer of common A or B once."""
        volts = self._amplifiers.unity(side, self._nodes.common(side))
        noise = self._noise.normal_x1024() * NOISE_COUNTS / 1024
        code = (volts / self._nodes.values.supply_v * 4096 + OFFSET_COUNTS + noise) * self._slope
        height = 0.0
        for at, jump in zip(JUMPS_AT, self._nodes.values.jumps):
            if code > at:
                height += jump
        return max(0, min(4095, int(code + height + 0.5)))


class FineConverter:
    """The 16-bit converter on I2C: averages over its conversion, whatever is changed meanwhile."""

    def __init__(self, nodes: Nodes, amplifiers: Amplifiers, noise: Noise) -> None:
        self._nodes = nodes
        self._amplifiers = amplifiers
        self._noise = noise
        self._pointer = 0
        self._setting = 0x8583
        self._result = 0
        self._upto_us = 0  # how far the running conversion has been averaged
        self._ready_us = -1
        self._sum = 0.0

    def write(self, content: bytes, now_us: int) -> None:
        """Take the pointer, and with it a setting that starts a conversion."""
        self._pointer = content[0]
        if self._pointer == 1 and len(content) == 3:
            self.average(now_us)
            self._setting = content[1] << 8 | content[2]
            if self._setting >> 15:
                slower = 1 << FASTEST - (self._setting >> 5 & 7)
                self._nodes.volts()
                self._upto_us = now_us
                self._ready_us = now_us + self._nodes.values.conversion_us * slower
                self._sum = 0.0

    def read(self, count: int, now_us: int) -> bytes:
        """Return the last result, or the setting with the bit that says whether a conversion is over."""
        self.average(now_us)
        value = self._result
        if self._pointer == 1:
            value = self._setting & 0x7FFF | (0x8000 if self._ready_us < 0 else 0)
        return bytes((value >> 8 & 255, value & 255))[:count]

    def average(self, now_us: int) -> None:
        """Go on with a conversion that runs; to be called before anything changes."""
        if self._ready_us < 0:
            return
        until_us = min(now_us, self._ready_us)
        if until_us > self._upto_us:
            self._sum += self._segment(until_us) * (until_us - self._upto_us)
            self._upto_us = until_us
        self._nodes.volts()
        if now_us >= self._ready_us:
            self._finish()

    def _segment(self, until_us: int) -> float:
        """Return the mean of what the input shows from where the conversion stands until then."""
        if self._nodes.settled:
            return self._shown(0) + self._hum(until_us)
        ahead, left = 0, until_us - self._upto_us
        total, before = 0.0, self._shown(0)
        while left:
            step = min(max(ahead, STEP_US), left)
            ahead += step
            left -= step
            after = self._shown(ahead)
            total += (before + after) / 2 * step
            if abs(after - before) < STILL_V:
                total += after * left
                break
            before = after
        return total / (until_us - self._upto_us) + self._hum(until_us)

    def _shown(self, ahead_us: int) -> float:
        a, b = self._nodes.ahead(ahead_us)
        inputs = self._setting >> 12 & 7
        if inputs == DIFFERENCE:
            return self._amplifiers.difference(a, b)
        a, b = self._amplifiers.unity(0, a), self._amplifiers.unity(1, b)
        shown = {UNITY_DIFFERENCE: a - b, UNITY_A: a, UNITY_B: b}
        return shown.get(inputs, 0.0)

    def _hum(self, until_us: int) -> float:
        """Return the mean of what the cable picks up, where the two commons see its two ends."""
        values, (a, b) = self._nodes.values, self._nodes.wiring.channels
        inputs = self._setting >> 12 & 7
        if not values.hum_v or max(a, b) >= SIDE or inputs > UNITY_DIFFERENCE:
            return 0.0
        if not self._nodes.one_lump(a, b + SIDE):
            return 0.0
        turns = 6.283185307 * values.hum_hz / 1e6
        since, until = turns * self._upto_us, turns * until_us
        gain = values.gain if inputs == DIFFERENCE else 1.0
        mean: float = values.hum_v * (cos(since) - cos(until)) / (until - since)
        return gain * mean

    def _finish(self) -> None:
        full_scale = FULL_SCALES_V[self._setting >> 9 & 7]
        lsb = full_scale / 32768
        slower = 1 << FASTEST - (self._setting >> 5 & 7)
        mean = self._sum / (self._nodes.values.conversion_us * slower) * self._nodes.values.fine_gain
        noise = self._noise.normal_x1024() / 1024 * max(FINE_NOISE_V, FINE_NOISE_COUNTS * lsb)
        count = int((mean + noise) / lsb + 65536.5) - 65536
        self._result = max(-32768, min(32767, count)) & 0xFFFF
        self._ready_us = -1
