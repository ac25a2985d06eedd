"""Noise that is the same on every machine: a congruential generator over a table of normal deviates."""

from firmware_sim.board import levels


class Noise:
    """Normal deviates, from a seed."""

    def __init__(self, seed: int) -> None:
        self._state = (seed * 2654435761 + 12345) & 0xFFFFFFFF
        half = []
        for _ in range(256):
            total = 0
            for _ in range(12):
                total += self.bits() >> 8
            half.append(total - 12 * (1 << 23))  # twelve uniform numbers are nearly normal
        spread = (sum([value * value for value in half]) / len(half)) ** 0.5
        half = [round(value * 1024 / spread) for value in half]
        self.table = tuple(half + [-value for value in half])
        self._converter = tuple([value * levels.ADC12_NOISE_LSB_X100 // 100 for value in self.table])

    def bits(self) -> int:
        """Return the next 32 bits."""
        self._state = (self._state * 69069 + 1) & 0xFFFFFFFF
        return self._state

    def converter(self) -> int:
        """Return the noise of one reading of the chip's converter, counts times 1024."""
        self._state = (self._state * 69069 + 1) & 0xFFFFFFFF
        return self._converter[self._state >> 23]

    def normal_x1024(self) -> int:
        """Return a normal deviate of standard deviation 1, times 1024."""
        self._state = (self._state * 69069 + 1) & 0xFFFFFFFF
        return self.table[self._state >> 23]
