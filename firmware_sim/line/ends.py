"""The simulator's end of the serial line: a pseudo-terminal, or a TCP port on the loopback."""

import os
import select
import socket
import sys
import threading
from collections.abc import Callable
from typing import Protocol

STALL_S = 0.5  # a board drops what the connected host does not read for so long


class LineEnd(Protocol):
    """Where a host may connect."""

    address: str

    def read(self) -> bytes:
        """Return what the host sent, waiting for it; b"" when the line is gone for good."""

    def write(self, content: bytes) -> None:
        """Send to the host; what it does not read within half a second is lost, as on the board."""

    def close(self) -> None:
        """Hang up."""


class Terminal:
    """A pseudo-terminal in raw mode; one slave stays open, so that it outlives its clients."""

    def __init__(self) -> None:
        import pty  # not on every system
        import tty

        self._master, self._slave = pty.openpty()
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        self.address = os.ttyname(self._slave)

    def read(self) -> bytes:
        """Wait for the host's bytes."""
        try:
            select.select([self._master], [], [])
            return os.read(self._master, 4096)
        except (OSError, ValueError):
            return b""

    def write(self, content: bytes) -> None:
        """Send, up to the stall."""
        while content:
            if not select.select([], [self._master], [], STALL_S)[1]:
                return
            try:
                content = content[os.write(self._master, content) :]
            except BlockingIOError:
                continue
            except OSError:
                return

    def close(self) -> None:
        """Hang up: the host's next read fails."""
        os.close(self._slave)
        os.close(self._master)


class Port:
    """A TCP port for one client at a time; further ones wait, or are refused at once."""

    def __init__(self, refuse_second: bool, connected: Callable[[], None]) -> None:
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._refuse_second = refuse_second
        self._connected = connected
        self._client: socket.socket | None = None
        self._closed = False
        self._waiting = threading.Condition()
        self.address = f"socket://127.0.0.1:{self._listener.getsockname()[1]}"
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self) -> None:
        while True:
            try:
                client, _ = self._listener.accept()
            except OSError:
                return
            with self._waiting:
                if self._client is not None and self._refuse_second:
                    client.close()
                    continue
                while self._client is not None and not self._closed:
                    self._waiting.wait()
                client.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                client.settimeout(None)
                self._client = client
                self._connected()
                self._waiting.notify_all()

    def read(self) -> bytes:
        """Wait for a client and its bytes."""
        while True:
            with self._waiting:
                while self._client is None:
                    if self._closed:
                        return b""
                    self._waiting.wait()
                client = self._client
            try:
                content = client.recv(4096)
            except OSError:
                content = b""
            if content:
                return content
            with self._waiting:
                client.close()
                self._client = None
                if self._closed:
                    return b""
                self._waiting.notify_all()

    def write(self, content: bytes) -> None:
        """Send to the client, if there is one."""
        client = self._client
        if client is None:
            return
        try:
            client.sendall(content)
        except OSError:
            return

    def close(self) -> None:
        """Hang up and stop listening."""
        with self._waiting:
            self._closed = True
            self._listener.close()
            if self._client is not None:
                self._client.shutdown(socket.SHUT_RDWR)
            self._waiting.notify_all()


def open_end(tcp: bool, refuse_second: bool, connected: Callable[[], None]) -> LineEnd:
    """Open a pseudo-terminal, or a TCP port where that is asked for or there are none."""
    if tcp or sys.platform == "win32":
        return Port(refuse_second, connected)
    return Terminal()
