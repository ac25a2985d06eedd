"""The lines of phones on a real server: a bounded number an address, and heads that never end are let go."""

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
import uvicorn

from wiremap.phone import line
from wiremap.phone.line import PHONE_MOST_LINES, BoundedLine

PATIENCE_S = 60.0
WATCHED_S = 1.0  # so long a line is looked at that ought to be closed by now
FOREVER_S = 3600.0
HALF = b"GET / HTTP/1.1\r\nhost: x\r\n"
WHOLE = HALF + b"\r\n"


async def app(_: Any, receive: Any, send: Any) -> None:
    """Answer a word to whoever asks."""
    await receive()
    await send({"type": "http.response.start", "status": 200, "headers": [(b"content-length", b"2")]})
    await send({"type": "http.response.body", "body": b"ok"})


@contextmanager
def served() -> Iterator[int]:
    """Serve on a port of this machine, and give it."""
    BoundedLine.lines.clear()
    with socket.create_server(("127.0.0.1", 0), backlog=256) as listening:
        config = uvicorn.Config(app, http=BoundedLine, ws="none", lifespan="off", log_config=None)
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, args=([listening],))
        thread.start()
        try:
            yield listening.getsockname()[1]
        finally:
            server.should_exit = True
            thread.join()


@contextmanager
def lines(port: int, count: int, address: str, say: bytes) -> Iterator[list[socket.socket]]:
    """Open so many lines from an address of this machine, and say this on each."""
    opened: list[socket.socket] = []
    try:
        for _ in range(count):
            opened.append(socket.create_connection(("127.0.0.1", port), PATIENCE_S, source_address=(address, 0)))
            opened[-1].sendall(say)
        yield opened
    finally:
        for one in opened:
            one.close()


def is_closed(one: socket.socket, within_s: float = PATIENCE_S) -> bool:
    """Whether a line is closed by the other side, in time."""
    one.settimeout(within_s)
    try:
        while one.recv(4096):
            pass
    except TimeoutError:
        return False
    except OSError:
        return True
    return True


def answered(port: int, address: str) -> bool:
    """Whether a request from this address is answered."""
    with lines(port, 1, address, WHOLE) as (one,):
        try:
            return one.recv(4096).startswith(b"HTTP/1.1 200")
        except OSError:
            return False


def test_an_address_holds_twelve_lines_and_takes_none_of_another() -> None:
    """The thirteenth is closed at once, the twelve stay; somebody else is answered meanwhile, and room comes back."""
    with served() as port:
        with lines(port, PHONE_MOST_LINES, "127.0.0.9", HALF) as twelve:
            assert not answered(port, "127.0.0.9")
            assert answered(port, "127.0.0.1")
            twelve[0].sendall(b"\r\n")
            assert twelve[0].recv(4096).startswith(b"HTTP/1.1 200")
        for _ in range(1000):  # the lines are gone when the server has seen it
            if answered(port, "127.0.0.9"):
                return
        raise AssertionError("no room came back")


def test_half_a_head_is_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two hundred lines of one address with half a head each: all are closed in the end; a phone is answered."""
    monkeypatch.setattr(line, "HEAD_S", 0.3)
    with served() as port, lines(port, 200, "127.0.0.9", HALF) as idle:
        assert answered(port, "127.0.0.1")
        assert all(is_closed(one) for one in idle)
        assert answered(port, "127.0.0.1")


def test_a_line_that_says_nothing_is_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    """One that is opened and silent is closed as well."""
    monkeypatch.setattr(line, "HEAD_S", 0.3)
    with served() as port, lines(port, 1, "127.0.0.9", b"") as (one,):
        assert is_closed(one)


def test_the_checks_fail_without_the_rules(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the bound a thirteenth line is answered; without the time a half head stays."""
    monkeypatch.setattr(line, "PHONE_MOST_LINES", 10**6)
    monkeypatch.setattr(line, "HEAD_S", FOREVER_S)
    with served() as port, lines(port, PHONE_MOST_LINES, "127.0.0.9", HALF) as twelve:
        assert answered(port, "127.0.0.9")
        assert not is_closed(twelve[0], WATCHED_S)
