"""Stands in for MicroPython's machine on the RP2040: pins, converters, I2C, PWM and the watchdog."""

from firmware_sim.board.power import bench, board, bus_parts, pins, reference

FEATURES = ("SIM",)  # what measures here is no tester
# Registers of the chip that the firmware writes itself (RP2040 data sheet, SIO).
GPIO_OUT_SET, GPIO_OUT_CLR, GPIO_OUT_XOR = 0xD0000014, 0xD0000018, 0xD000001C
GPIO_OE_SET, GPIO_OE_CLR = 0xD0000024, 0xD0000028
BYTE_US = 23  # nine bits at 400 kHz


class Pin:
    """One pin of the chip."""

    IN = 0
    OUT = 1

    def __init__(self, number: int, mode: int = 0, pull: "int | None" = None, *, value: "int | None" = None) -> None:
        self.number = number
        self._bit = 1 << number
        self._set(mode, pull, value)

    def init(self, mode: int, pull: "int | None" = None, *, value: "int | None" = None) -> None:
        """Make it an output, at a level, or an input."""
        board.advance(board.pin_us)
        self._set(mode, pull, value)

    def _set(self, mode: int, pull: "int | None", value: "int | None") -> None:
        if pull is not None:
            raise ValueError("no board wants a pull of the chip's own")
        levels = pins.outputs
        if mode == Pin.OUT:
            if value is not None:
                levels = levels | self._bit if value else levels & ~self._bit
            board.set_outputs(levels, pins.directions | self._bit)
        elif pins.directions & self._bit:
            board.set_outputs(levels, pins.directions & ~self._bit)

    def value(self, level: "int | None" = None) -> "int | None":
        """Set or return the level."""
        board.advance(board.pin_us)
        if level is None:
            return board.level(self.number)
        if level:
            board.set_outputs(pins.outputs | self._bit, pins.directions)
        else:
            board.set_outputs(pins.outputs & ~self._bit, pins.directions)
        return None


class ADC:
    """One input of the chip's converter."""

    def __init__(self, pin: Pin) -> None:
        self._channel = pin.number - 26

    def read_u16(self) -> int:
        """Convert once; twelve bits, spread over sixteen as MicroPython does."""
        board.advance(board.conversion_us)
        count = board.converted(self._channel)
        return count << 4 | count >> 8


class I2C:
    """The bus with the board's converters and, where there is one, its expander."""

    def __init__(self, bus: int, *, sda: Pin, scl: Pin, freq: int = 400_000) -> None:
        if (bus, sda.number, scl.number, freq) != (0, 0, 1, 400_000):
            raise ValueError("bad I2C")
        if bus_parts is None:
            raise ValueError("nothing hangs on I2C")
        self._parts = bus_parts

    def scan(self) -> "list[int]":
        """Return the addresses that answer."""
        board.advance(112 * BYTE_US)
        return self._parts.addresses()

    def writeto(self, address: int, content: bytes) -> None:
        """Write to a part."""
        board.advance((1 + len(content)) * BYTE_US)
        self._parts.write(address, content)

    def readfrom_into(self, address: int, content: bytearray) -> None:
        """Read from a part."""
        board.advance((1 + len(content)) * BYTE_US)
        content[:] = self._parts.read(address, len(content))


class SPI:
    """The bus with the ports; a message is one call."""

    def __init__(self, bus: int, *, baudrate: int, sck: Pin, mosi: Pin, miso: Pin) -> None:
        if (bus, sck.number, mosi.number, miso.number) != (0, 18, 19, 16) or baudrate > 10_000_000:
            raise ValueError("bad SPI")
        if bench is None:
            raise ValueError("nothing hangs on SPI")
        self._board = bench

    def write(self, content: bytes) -> None:
        """Send a message."""
        self._board.transfer(content)

    def write_readinto(self, content: bytes, answer: bytearray) -> None:
        """Send a message and take what comes back meanwhile."""
        answer[:] = self._board.transfer(content)


class PWM:
    """The threshold's pulse width, filtered."""

    def __init__(self, pin: Pin, *, freq: int, duty_u16: int) -> None:
        if reference is None or pin.number != 17 or freq < 50_000:
            raise ValueError("the filter behind the threshold needs at least 50 kHz")
        self._switchboard = reference.switchboard
        self.duty_u16(duty_u16)

    def duty_u16(self, duty: int) -> None:
        """Set the share of the supply, in 65536ths."""
        self._switchboard.set_threshold(duty)


class WDT:
    """The watchdog: once started it cannot be stopped."""

    def __init__(self, *, timeout: int) -> None:
        board.start_watchdog(timeout * 1000)

    def feed(self) -> None:
        """Put the reset off."""
        board.feed_watchdog()


class _Registers:
    """The registers that the firmware writes itself."""

    def __setitem__(self, address: int, value: int) -> None:
        board.advance(board.pin_us)
        levels, directions = pins.outputs, pins.directions
        if address == GPIO_OUT_XOR:
            levels ^= value
        elif address == GPIO_OUT_SET:
            levels |= value
        elif address == GPIO_OUT_CLR:
            levels &= ~value
        elif address == GPIO_OE_SET:
            directions |= value
        elif address == GPIO_OE_CLR:
            directions &= ~value
        else:
            raise ValueError("register")
        board.set_outputs(levels, directions)


mem32 = _Registers()


def unique_id() -> bytes:
    """Return the chip's own number; the simulator's is made of its board and its seed."""
    seed: int = board.cable.tables["seed"]
    kind = 0 if reference is not None else 1 if bench is not None else 2
    return b"SIM" + bytes((kind,)) + bytes((seed >> shift & 255) for shift in (24, 16, 8, 0))
