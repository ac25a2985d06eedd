"""Listening to testers that print by themselves: the speed of their line, what they must hear first, what is asked."""

import os
import pty
import select
import sys
import threading
import tty
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from tests.reading.strangers import KNOWN, Stranger, sight
from tests.tester.uarts import sampled, speaking
from wiremap.errors import FileError, TesterError
from wiremap.reading.talk.heard import recognised
from wiremap.reading.talk.language import BAUDS, Language
from wiremap.tester import listening
from wiremap.tester.listening import open_any, speed_of

TEXT = "scan 1\r\n1 0 0 0 0 0 0 0\r\n0 1 0 0 0 0 0 0\r\n0 0 0 0 0 1 0 0\r\n0 0 0 1 0 0 0 0\r\nbattery 3.71 V\r\n"
linux = pytest.mark.skipif(sys.platform != "linux", reason="asks Linux for the speed of a pseudo-terminal")


def readable(content: bytes) -> float:
    """Return the share of printing characters and ends of lines."""
    return sum(byte in b"\t\r\n" or 32 <= byte < 127 for byte in content) / max(len(content), 1)


@pytest.mark.parametrize("off", [-0.02, 0.0, 0.02])
@pytest.mark.parametrize("baud", BAUDS)
def test_only_the_right_speed_gives_text(baud: int, off: float) -> None:
    """Clocks 2 % apart still give the text; at any other usual speed too little of it is text to be believed."""
    for other in BAUDS:
        seen = sampled(TEXT.encode(), baud * (1 + off), other)
        if other == baud:
            assert seen == TEXT.encode()
        else:
            assert readable(seen) < listening.READABLE or b"\n" not in seen, (baud, other, seen[:60])


@linux
@pytest.mark.parametrize("baud", [115_200, 57_600, 19_200, 2400])
def test_the_speed_of_a_line_is_found(baud: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a line whose bytes come as a UART samples them, the speed at which text comes is the one it was sent at."""
    monkeypatch.setattr(listening, "SPEED_S", 0.3)
    with speaking(TEXT, baud) as address:
        assert speed_of(address) == baud


@linux
def test_a_speed_that_nobody_uses_is_not_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """At 14 400 baud no usual speed gives text: an error that says which were tried."""
    monkeypatch.setattr(listening, "SPEED_S", 0.1)
    with speaking(TEXT, 14_400) as address, pytest.raises(TesterError, match="nothing readable came at any of 115200"):
        speed_of(address)


@contextmanager
def asked(tester: Stranger, deaf_until: str = "", scans: int = 3) -> Iterator[tuple[str, list[bytes]]]:
    """Print so many scans of a straight cable for every "go", none before; give the address and what was heard.

    deaf_until: what it prints when it begins to hear, a moment after the line was opened.
    """
    straight = frozenset(frozenset({("N", n), ("F", n)}) for n in range(tester.count))
    text = (
        "\r\n".join(line for _ in range(scans) for line in ("scan 1", *tester.lines(tester, sight(straight)))) + "\r\n"
    )
    master, slave = pty.openpty()
    tty.setraw(slave)
    heard: list[bytes] = []
    stop = threading.Event()

    def serve() -> None:
        if deaf_until:
            stop.wait(0.5)
            if select.select([master], [], [], 0)[0]:
                os.read(master, 4096)  # lost
            os.write(master, deaf_until.encode())
        while not stop.is_set():
            if select.select([master], [], [], 0.05)[0]:
                heard.append(os.read(master, 4096))
                os.write(master, text.encode())

    thread = threading.Thread(target=serve)
    thread.start()
    try:
        yield os.ttyname(slave), heard
    finally:
        stop.set()
        thread.join()
        os.close(slave)
        os.close(master)


@pytest.mark.parametrize("deaf_until", ["", "Ready.\r\n"])
def test_a_tester_that_must_be_asked(deaf_until: str) -> None:
    """It is asked for a scan as described: at once, or, where its description says what it prints first, after that."""
    tester = next(one for one in KNOWN if one.name == "spaces")
    language = Language(begin="scan #", send="go", ready="Ready" if deaf_until else "", count=tester.count)
    with asked(tester, deaf_until) as (address, heard), open_any(address, language) as device:
        assert isinstance(device, listening.Listener)
        reading = device.reading("tester", None, None)
    assert heard == [b"go\n"]
    assert all(reading.resistance_ohm[n][n + tester.count] == "joined" for n in range(tester.count))


def test_a_question_that_was_lost_is_asked_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """A board that was deaf while it started, as its description does not say, is asked again after a scan's time."""
    monkeypatch.setattr(listening, "READ_S", 0.05)
    tester = next(one for one in KNOWN if one.name == "spaces")
    language = Language(begin="scan #", send="go", count=tester.count, scan_s=0.8)
    with asked(tester, "boot\r\n") as (address, heard), open_any(address, language) as device:
        assert isinstance(device, listening.Listener)
        assert device.reading("tester", None, None).resistance_ohm[0][tester.count] == "joined"
    assert heard[0] == b"go\n"


def test_a_tester_that_gives_one_scan_for_each_question() -> None:
    """It is asked again after a scan's time, until scans came alike often enough."""
    tester = next(one for one in KNOWN if one.name == "spaces")
    language = Language(begin="scan #", send="go", count=tester.count, scan_s=0.3)
    with asked(tester, scans=1) as (address, heard), open_any(address, language) as device:
        assert isinstance(device, listening.Listener)
        assert device.reading("tester", None, None).resistance_ohm[0][tester.count] == "joined"
    assert len(heard) > 1


@pytest.mark.parametrize("live", [False, True])
@pytest.mark.parametrize("tester", [one for one in KNOWN if not one.named], ids=lambda tester: tester.name)
def test_text_that_names_no_ends_is_never_believed_unaided(tester: Stranger, live: bool) -> None:
    """Of a plain cable too, on a line without noise: what does not say which end is which is never believed."""
    nets = frozenset(frozenset({("N", n), ("F", n ^ 1)}) for n in range(tester.plain))
    lines = ["\r\n".join(["scan 1", *tester.lines(tester, sight(nets)), ""])] * 6
    for plain in (None, tester.plain):
        with pytest.raises(FileError):
            recognised("".join(lines).encode(), "line", plain, live)
