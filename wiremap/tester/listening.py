"""Testers that print text of their own: listens until a scan is believed, and gives it as a Reading."""

import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

from wiremap.cable.patterns import Pattern
from wiremap.errors import FileError, TesterError
from wiremap.reading.adapters import in_cable_contacts
from wiremap.reading.joined import Joined, joined_pairs
from wiremap.reading.parts import Tester
from wiremap.reading.reading import Far, Reading
from wiremap.reading.talk.heard import FromTalk, reading_of, understood
from wiremap.reading.talk.language import BAUDS, Language
from wiremap.tester.line import TalkLine, device_serial, open_talk
from wiremap.tester.looking import closed
from wiremap.tester.measure import OpenTester, open_tester
from wiremap.tester.view import WATCHED_OHM

READ_S = 0.1
KEPT_BYTES = 20_000
SPEED_S = 1.5
READABLE = 0.97
READY_S = 5.0  # a board that starts anew when its port opens is through by then (from memory)


class Listener:
    """An open tester that prints by itself; its line has no check value, so a scan counts when it came alike."""

    def __init__(self, line: TalkLine, language: Language) -> None:
        self.line = line
        self.tester = Tester("unknown", "prints by itself", device_serial(line.address), "unknown", (), 2.0)
        self._language = language
        self._hears = not language.ready  # else once it has said that it is ready, or was given the time for it

    def reading(self, far: Far, near_adapter: Pattern | None, far_adapter: Pattern | None) -> Reading:
        """Return what it prints from now on, in the cable's contacts; TesterError when no scan can be believed."""
        if far != "tester":
            raise TesterError(
                "a tester that prints its own text sees both ends or nothing",
                "Put the far plug into it, and leave out --far.",
            )
        said = self._heard()
        now = f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ}"
        return in_cable_contacts(reading_of(said, "tester", self.tester, now), near_adapter, far_adapter)

    def look(self, before: Joined, near_adapter: Pattern | None, far_adapter: Pattern | None) -> Joined:
        """Return what is joined now; while what it prints does not agree, what was there before."""
        try:
            reading = self.reading("tester", near_adapter, far_adapter)
        except UnsettledError:
            return before
        return closed(joined_pairs(reading.resistance_ohm, WATCHED_OHM))

    def _heard(self) -> FromTalk:
        """Listen until a scan is believed, for at most as long as a few more than are wanted take."""
        language = self._language
        if self._hears:
            self.line.drain()
        else:
            self._await_ready()
        content, why = b"", None
        begun = time.monotonic()
        deadline, last_s = begun + language.scan_s * (language.least_alike + 3), begun - language.scan_s
        while time.monotonic() < deadline:
            if language.send and time.monotonic() - last_s >= language.scan_s:
                self.line.send(language.send + "\n")  # and again: for the next scan, or since it did not hear
                last_s = time.monotonic()
            more = self.line.read(READ_S)
            if not more:
                continue
            last_s = time.monotonic()
            content = (content + more)[-KEPT_BYTES:]
            try:
                return understood(content, self.line.address, language, live=True)
            except FileError as error:
                why = error
                if "different cables" in error.what:
                    content = b"\n"
        if why is None:
            raise TesterError(
                f"{self.line.address}: nothing came within {language.scan_s * (language.least_alike + 3):g} s",
                "Check that the tester prints (its button, its power) and that its description has the right baud.",
            )
        raise UnsettledError(why.what, why.hint)

    def _await_ready(self) -> None:
        """Wait until it prints what its description says it prints when it hears; one that is up already does not."""
        wanted, content = self._language.ready.encode(), b""
        deadline = time.monotonic() + READY_S
        while wanted not in content and time.monotonic() < deadline:
            content = (content + self.line.read(READ_S))[-KEPT_BYTES:]
        self._hears = True


class UnsettledError(TesterError):
    """It prints, and no scan came alike often enough yet."""


@contextmanager
def open_any(address: str | None, language: Language | None) -> Iterator[OpenTester | Listener]:
    """Open a tester; language: of one that prints its own text, which is then only listened to, None = ours."""
    if language is None:
        with open_tester(address) as device:
            yield device
        return
    if address is None:
        raise TesterError(
            "where the tester is that talks so is not said", "Give its address, as --tester /dev/ttyUSB0."
        )
    with open_talk(address, language.baud, language.parity) as line:
        yield Listener(line, language)


def speed_of(address: str) -> int:
    """Return the baud at which what a tester prints is text; TesterError when it prints nothing that is.

    On the network there is no speed: the usual one is returned.
    """
    if "://" in address:
        return BAUDS[0]
    best, share = BAUDS[0], 0.0
    for baud in BAUDS:
        with open_talk(address, baud, "none") as line:
            content = b""
            until = time.monotonic() + SPEED_S
            while time.monotonic() < until:
                content += line.read(READ_S)
        readable = sum(byte in b"\t\r\n" or 32 <= byte < 127 for byte in content) / max(len(content), 1)
        if b"\n" in content and readable > share:
            best, share = baud, readable
        if share >= READABLE:
            break
    if share < READABLE:
        raise TesterError(
            f"{address}: nothing readable came at any of {', '.join(map(str, BAUDS))} baud",
            "Check that the tester prints by itself; one that must be asked needs a description with `send`.",
        )
    return best
