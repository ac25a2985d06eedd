"""Stands in for MicroPython's machine on the RP2040: pins, converters, I2C, PWM and the watchdog."""

from firmware_sim.board.power import bus_parts, circuit, clock

GPIO_OUT_XOR = 0xD000001C
CONVERSION_US = 2
BYTE_US = 23  # nine bits at 400 kHz


class Pin:
    """One pin of the chip."""

    IN = 0
    OUT = 1

    def __init__(self, number: int, mode: int = 0, *, value: "int | None" = None) -> None:
        self.number = number
        self._bit = 1 << number
        if mode == Pin.OUT:
            if value is not None:
                circuit.outputs = circuit.outputs | self._bit if value else circuit.outputs & ~self._bit
            circuit.set_outputs(circuit.outputs, circuit.directions | self._bit)

    def value(self, level: "int | None" = None) -> "int | None":
        """Set or return the level."""
        if level is None:
            return circuit.level(self.number)
        if level:
            circuit.set_outputs(circuit.outputs | self._bit, circuit.directions)
        else:
            circuit.set_outputs(circuit.outputs & ~self._bit, circuit.directions)
        return None


class ADC:
    """One input of the chip's converter."""

    def __init__(self, pin: Pin) -> None:
        self._channel = pin.number - 26

    def read_u16(self) -> int:
        """Convert once; twelve bits, spread over sixteen as MicroPython does."""
        clock.advance(CONVERSION_US)
        count = circuit.channel(self._channel)
        return count << 4 | count >> 8


class I2C:
    """The bus with the expander and the two converters."""

    def __init__(self, bus: int, *, sda: Pin, scl: Pin, freq: int = 400_000) -> None:
        if (bus, sda.number, scl.number, freq) != (0, 0, 1, 400_000):
            raise ValueError("bad I2C")

    def scan(self) -> "list[int]":
        """Return the addresses that answer."""
        clock.advance(112 * BYTE_US)
        return bus_parts.addresses()

    def writeto(self, address: int, content: bytes) -> None:
        """Write to a part."""
        clock.advance((1 + len(content)) * BYTE_US)
        bus_parts.write(address, content)

    def readfrom_into(self, address: int, content: bytearray) -> None:
        """Read from a part."""
        clock.advance((1 + len(content)) * BYTE_US)
        content[:] = bus_parts.read(address, len(content))


class PWM:
    """The threshold's pulse width, filtered."""

    def __init__(self, pin: Pin, *, freq: int, duty_u16: int) -> None:
        if pin.number != 17 or freq < 50_000:
            raise ValueError("the filter behind the threshold needs at least 50 kHz")
        self.duty_u16(duty_u16)

    def duty_u16(self, duty: int) -> None:
        """Set the share of the supply, in 65536ths."""
        circuit.set_threshold(duty)


class WDT:
    """The watchdog: once started it cannot be stopped."""

    def __init__(self, *, timeout: int) -> None:
        clock.watchdog_us = timeout * 1000
        self.feed()

    def feed(self) -> None:
        """Put the reset off."""
        clock.idle()
        clock.reset_at_us = clock.now_us + clock.watchdog_us


class _Registers:
    """The one register that the firmware writes itself."""

    def __setitem__(self, address: int, value: int) -> None:
        if address != GPIO_OUT_XOR:
            raise ValueError("register")
        circuit.set_outputs(circuit.outputs ^ value, circuit.directions)


mem32 = _Registers()


def unique_id() -> bytes:
    """Return the chip's own number; the simulator's is made of its seed."""
    seed: int = circuit.cable.tables["seed"]
    return b"SIM" + bytes((seed >> shift & 255) for shift in (32, 24, 16, 8, 0))
