"""The line to a tester: find it, open it, ask, read whole answers in time. The only place that knows pyserial.

An address is a serial device, `socket://HOST:PORT`, or `sim[:NAME|FILE.toml]` for the simulator. Whatever goes
wrong on the way comes out as a TesterError with a hint; what the firmware printed meanwhile stands in it.
"""

import secrets
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from typing import TypeVar

import serial
from serial.tools import list_ports

from wiremap.errors import TesterError
from wiremap.tester import answers
from wiremap.tester.answers import Answer, FrameError
from wiremap.tester.ports import LINE_ERRORS, OPEN_ERRORS, why_it_broke, why_not_open
from wiremap.tester.simulator import running_simulator

T = TypeVar("T")

USB_ID = (0x2E8A, 0x0005)  # every Raspberry Pi Pico with MicroPython: a hint, never a proof
BAUD = 115_200
LONGEST_LINE = 1_000_000
CHUNK = 65_536
SIMULATED_PATIENCE = 4  # a simulated board takes the machine's time; where its program died the line ends at once
STALL_S = 2.0  # a line that has begun and stops for this long is cut off
QUIET_S = 0.1  # after damage, what is still in flight is over when this long nothing came
SETTLE_S = 2.0
WRITE_S = 5.0
PLAIN_S = 2.0
WAKE_S, WAKE_TRIES = 1.0, 5  # a board that resets when its port opens is deaf for 1 to 2 s (from memory)
KEPT_LINES, KEPT_WIDTH = 12, 160
PROMPT = ">>>"
FLASH_IT = "Put the tester's program on it, as firmware_sim/README.md says under Flashing, and plug it in again."
LEARN_IT = "A tester that prints text of its own is learnt with `wiremap learn`."


class _SilenceError(TesterError):
    """No answer in time."""


class Line:
    """An open line to a tester: one question at a time, whole answers back."""

    def __init__(self, port: serial.Serial, address: str, first_tag: int | None = None, patience: float = 1.0) -> None:
        """patience: how many times the usual waits for an answer may last."""
        self.address = address
        self._port = port
        self._patience = patience
        # After a reopen, answers to the session before may still arrive: start elsewhere.
        self._tag = secrets.randbelow(answers.LARGEST_TAG) + 1 if first_tag is None else first_tag
        self._buffer = bytearray()
        self._searched = 0
        self._said: deque[str] = deque(maxlen=KEPT_LINES)

    @property
    def said(self) -> tuple[str, ...]:
        """What came on the line that was no answer (a traceback, say), the last lines of it."""
        return tuple(self._said)

    def ask(self, header: str, *arguments: int | str, parse: Callable[[Answer], T], timeout_s: float) -> T:
        """Ask a measurement query and return what `parse` makes of its answer.

        A damaged answer, or a question that arrived damaged, is asked once more under a new tag; answers to
        earlier questions are passed over.
        """
        for last in (False, True):
            tag, self._tag = self._tag, self._tag % answers.LARGEST_TAG + 1
            self._send(answers.tagged_question(header, tag, *arguments))
            try:
                return parse(self._answer(tag, header, timeout_s))
            except FrameError as damage:
                failure: TesterError = damage
            except _SilenceError as silence:
                complaint = self._complaint()
                if complaint is None:
                    raise self._with_talk(silence) from None
                failure = TesterError(
                    f"the tester did not understand '{header}': {complaint}",
                    "Its firmware and this program may be of different ages: bring both up to date.",
                )
            if not last:
                self._settle()
        if isinstance(failure, FrameError):
            failure = FrameError(f"{failure.what}; it was asked '{header}'", failure.hint, failure.raw)
        raise self._with_talk(failure)

    def ask_plain(self, message: str, parse: Callable[[bytes], T], timeout_s: float | None = None) -> T:
        """Ask a common or SYSTem query, whose answer carries no tag; lines that are none are passed over."""
        try:
            return self._plain(message, parse, PLAIN_S if timeout_s is None else timeout_s)
        except _SilenceError as silence:
            raise self._with_talk(silence) from None

    def _plain(self, message: str, parse: Callable[[bytes], T], timeout_s: float) -> T:
        self._send(answers.question(message))
        timeout_s *= self._patience
        deadline = time.monotonic() + timeout_s
        while (line := self._next_line(deadline)) is not None:
            try:
                return parse(line)
            except FrameError:
                self._keep(line)
        raise self._silence(message, timeout_s)

    def identification(self) -> tuple[str, str, str, str]:
        """Ask who is there, again and again for 5 s times the patience; return maker, model, serial, firmware version.

        What an earlier session may have left half sent is ended first. TesterError says whether text of its own comes,
        or a board whose program was never flashed answers.
        """
        for attempt in range(WAKE_TRIES):
            self._send(b"\n")
            try:
                found = self._plain("*IDN?", answers.identification, WAKE_S)
            except _SilenceError:
                if self._at_prompt():
                    raise TesterError(
                        f"{self.address}: MicroPython answers there, and the tester's program is not on it", FLASH_IT
                    ) from None
                continue
            if attempt:  # it may answer as often as it was asked
                self._settle()
            return found
        raise self._with_talk(self._nobody(self._silence("*IDN?", WAKE_S * WAKE_TRIES * self._patience)))

    def _at_prompt(self) -> bool:
        return any(line.lstrip().startswith(PROMPT) for line in (*self._said, self._buffer.decode("ascii", "replace")))

    def _nobody(self, silence: TesterError) -> TesterError:
        """Return what to say where nobody said who it is."""
        if self._said or self._buffer:
            return TesterError(silence.what, f"{LEARN_IT} {silence.hint}")
        if self.address in usb_addresses():
            return TesterError(
                f"{silence.what}; by its USB id it is a board with MicroPython",
                f"If the tester's program was never put on it: {FLASH_IT} Else unplug it, plug it in and try again.",
            )
        return silence

    def _answer(self, tag: int, header: str, timeout_s: float) -> Answer:
        timeout_s *= self._patience
        deadline = time.monotonic() + timeout_s
        while (line := self._next_line(deadline)) is not None:
            if not answers.looks_like_an_answer(line):
                self._keep(line)
                continue
            try:
                answer = answers.decode_answer(line)
            except FrameError:
                self._keep(line)
                raise
            if answer.tag == tag:
                return answer
        if self._buffer:
            half = bytes(self._buffer)
            raise FrameError(f"the tester stopped in the middle of an answer, after {len(half)} bytes", raw=half)
        raise self._silence(header, timeout_s)

    def _silence(self, message: str, timeout_s: float) -> _SilenceError:
        half = f" ({len(self._buffer)} bytes came, and no end of line)" if self._buffer else ""
        return _SilenceError(
            f"{self.address}: no answer to '{message}' within {timeout_s:g} s{half}",
            "Check that this is the tester, that its light is on and that no other program holds it; "
            "unplug it, plug it in again and try again.",
        )

    def _complaint(self) -> str | None:
        try:
            number, text = self.ask_plain("SYSTem:ERRor?", answers.error_report)
        except TesterError:
            return None
        return None if number == 0 else f"error {number}, {text}"

    def _with_talk(self, error: TesterError) -> TesterError:
        if not self._said:
            return error
        return TesterError(error.what + "; the tester said:\n  " + "\n  ".join(self._said), error.hint)

    def _keep(self, line: bytes) -> None:
        text = line.decode("ascii", "backslashreplace").rstrip("\r")
        shown = "".join(letter if letter.isprintable() else f"\\x{ord(letter):02x}" for letter in text[:KEPT_WIDTH])
        if shown.strip():
            self._said.append(shown)

    def _settle(self) -> None:
        deadline = time.monotonic() + SETTLE_S
        while time.monotonic() < deadline and (more := self._receive(QUIET_S)):
            self._buffer = (self._buffer + more)[-CHUNK:]
        for line in bytes(self._buffer).split(b"\n"):
            if not answers.looks_like_an_answer(line):
                self._keep(line)
        self._buffer.clear()
        self._searched = 0

    def _send(self, message: bytes) -> None:
        try:
            self._port.write(message)
        except LINE_ERRORS as error:
            raise self._with_talk(why_it_broke(self.address, error)) from error

    def _receive(self, timeout_s: float) -> bytes:
        try:
            return _arrived(self._port, timeout_s)
        except LINE_ERRORS as error:
            raise self._with_talk(why_it_broke(self.address, error)) from error

    def _next_line(self, deadline: float) -> bytes | None:
        """Return the next whole line without its LF; None when time is up or the line stalled."""
        while (end := self._buffer.find(b"\n", self._searched)) < 0:
            self._searched = len(self._buffer)
            if self._searched > LONGEST_LINE:
                self._buffer.clear()
                self._searched = 0
                raise self._with_talk(
                    TesterError(
                        f"{self.address}: {LONGEST_LINE} bytes came and no end of line",
                        "This is no wiremap tester; give the address of the tester (`wiremap testers` lists it).",
                    )
                )
            left = deadline - time.monotonic()
            more = self._receive(min(left, STALL_S) if self._buffer else left) if left > 0 else b""
            if not more:
                return None
            self._buffer += more
        line = bytes(self._buffer[:end])
        del self._buffer[: end + 1]
        self._searched = 0
        return line


class TalkLine:
    """An open line to a tester that prints by itself: what came, and no more."""

    def __init__(self, port: serial.Serial, address: str) -> None:
        self.address = address
        self._port = port

    def read(self, timeout_s: float) -> bytes:
        """Return what came, after waiting for it for at most so long; b"" = nothing."""
        try:
            return _arrived(self._port, timeout_s)
        except LINE_ERRORS as error:
            raise why_it_broke(self.address, error) from error

    def drain(self) -> None:
        """Drop what came before now."""
        while len(self.read(0)) >= CHUNK:
            pass

    def send(self, text: str) -> None:
        """Send what asks for a scan."""
        try:
            self._port.write(text.encode())
        except LINE_ERRORS as error:
            raise why_it_broke(self.address, error) from error


@contextmanager
def open_line(address: str, first_tag: int | None = None) -> Iterator[Line]:
    """Open the line at an address, and close it (and end the simulator) when done."""
    with ExitStack() as closing:
        at, patience = address, 1.0
        if address == "sim" or address.startswith("sim:"):
            at = closing.enter_context(running_simulator(address.partition(":")[2]))
            patience = SIMULATED_PATIENCE
        port = _open(at)
        closing.callback(_close, port)
        yield Line(port, address, first_tag, patience)


@contextmanager
def open_talk(address: str, baud: int, parity: str) -> Iterator[TalkLine]:
    """Open the line to a tester that prints by itself, and close it when done."""
    port = _open(address, baud, parity[0].upper())
    try:
        yield TalkLine(port, address)
    finally:
        _close(port)


def device_serial(address: str) -> str:
    """Return the serial number of the device at an address, where it has none the address."""
    there = (port.serial_number for port in list_ports.comports() if port.device == address)
    return next(there, None) or address


def _arrived(port: serial.Serial, timeout_s: float) -> bytes:
    """Wait for a byte for so long; return it with all that came behind it, b"" when none came."""
    port.timeout = timeout_s
    first: bytes = port.read(1)
    if not first:
        return b""
    port.timeout = 0
    return first + port.read(CHUNK)


def _open(address: str, baud: int = BAUD, parity: str = "N") -> serial.Serial:
    try:
        port = serial.serial_for_url(
            address, do_not_open=True, baudrate=baud, parity=parity, timeout=0, write_timeout=WRITE_S, exclusive=True
        )
    except OPEN_ERRORS as error:
        raise why_not_open(address, error) from error
    try:
        port.open()
    except OPEN_ERRORS as error:
        _close(port)
        raise why_not_open(address, error) from error
    return port


def _close(port: serial.Serial) -> None:
    connection = getattr(port, "_socket", None)  # pyserial leaves it open when the other side hung up first
    with suppress(*LINE_ERRORS):  # it may be gone already
        port.close()
    if connection is not None:
        connection.close()


def usb_addresses() -> tuple[str, ...]:
    """Return the serial devices whose USB id is that of a tester's board, in alphabetical order."""
    return tuple(sorted(port.device for port in list_ports.comports() if (port.vid, port.pid) == USB_ID))
