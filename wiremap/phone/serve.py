"""Serving: which address, the socket, the code to scan, and the server until it is interrupted."""

import asyncio
import contextlib
import io
import socket
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType
from typing import Protocol

import ifaddr
import segno
import uvicorn

from wiremap.errors import UsageError
from wiremap.phone.app import Served, app_of
from wiremap.phone.guard import Here
from wiremap.phone.line import BoundedLine

USUAL_PORTS = {"http": 80, "https": 443}
GRACE_S = 1
TICK_S = 1.0
BEGIN_S = 5.0


def own_addresses() -> tuple[str, ...]:
    """Return the IPv4 addresses of this machine that others can reach."""
    found = [ip.ip for adapter in ifaddr.get_adapters() for ip in adapter.ips if isinstance(ip.ip, str)]
    return tuple(sorted(ip for ip in found if not ip.startswith(("127.", "169.254."))))


def address_to_serve(asked: str | None) -> str:
    """Return the address to serve: the one asked for, else the only one; UsageError names those there are."""
    if asked in ("0.0.0.0", "::", ""):
        raise UsageError(f"--address {asked}: is every network at once", "Give the address on the boat's own network.")
    if asked:
        return asked
    found = own_addresses()
    if len(found) != 1:
        what = f"this machine has {len(found)} addresses" + (": " + ", ".join(found) if found else "")
        hint = "Say which network the phone is on, as --address " + (found[0] if found else "192.168.43.1") + "."
        raise UsageError(what, hint if found else "Switch on the laptop's hotspot, or join the boat's network. " + hint)
    return found[0]


def listening(address: str, port: int) -> socket.socket:
    """Return a socket that listens there; UsageError where that cannot be."""
    try:
        return socket.create_server((address, port), backlog=64)
    except OSError as error:
        raise UsageError(
            f"{address}:{port} cannot be served ({error.strerror or error})",
            "Is another one running there? Give another --port, or an --address this machine has.",
        ) from error


def here_of(address: str, name: str | None, port: int, is_secure: bool) -> Here:
    """Return under which names it is served, the one to be shown first."""
    scheme = "https" if is_secure else "http"
    hosts = [f"{host}:{port}" for host in (name, address) if host]
    hosts += [host for host in (name, address) if host and port == USUAL_PORTS[scheme]]
    return Here(tuple(hosts), scheme)


def code_url(here: Here, secret: str) -> str:
    """Return what the square code holds; what stands behind # is never sent to a server by a browser."""
    return f"{here.scheme}://{here.hosts[0]}/#{secret}"


def code_lines(url: str) -> tuple[str, ...]:
    """Return the square code for a terminal, two rows of it a line."""
    out = io.StringIO()
    segno.make(url, error="L", boost_error=False, micro=False).terminal(out, border=2, compact=True)
    return tuple(out.getvalue().rstrip("\n").split("\n"))


class Runs(Protocol):
    """A loop that is run in a thread beside the server."""

    def run(self) -> None:
        """Run until it is stopped."""

    def stop(self) -> None:
        """End `run` soon."""


class _Server(uvicorn.Server):
    """A server that tells those who look on when something changes, and when it ends."""

    def __init__(self, served: Served, here: Here, certificate: Path | None) -> None:
        config = uvicorn.Config(
            app_of(served, here),
            http=BoundedLine,
            ws="none",
            lifespan="off",
            log_config=None,
            access_log=False,
            server_header=False,
            proxy_headers=False,
            timeout_graceful_shutdown=GRACE_S,
            ssl_certfile=certificate,
        )
        super().__init__(config)
        self._served = served
        self._wake: Callable[[], None] = lambda: None

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """End soon."""
        self._ending()
        super().handle_exit(sig, frame)

    def end(self) -> None:
        """End soon, asked from another thread."""
        self._ending()
        self.should_exit = True

    def _ending(self) -> None:
        self._served.streams.ending = True
        self._wake()

    async def run_on(self, line: socket.socket, began: Callable[[], None], on_tick: Callable[[], None]) -> None:
        """Serve until the end. began: called once phones hear of changes; on_tick: every second."""
        now = asyncio.get_running_loop()

        def changed() -> None:
            with contextlib.suppress(RuntimeError):  # the server has ended
                now.call_soon_threadsafe(self._served.streams.changed)

        async def ticking() -> None:
            while True:
                on_tick()
                await asyncio.sleep(TICK_S)

        self._wake = self._served.loop.on_view = changed
        began()
        ticks = asyncio.create_task(ticking())
        try:
            await self.serve(sockets=[line])
        finally:
            ticks.cancel()


def serve(
    served: Served,
    loop: Runs,
    here: Here,
    line: socket.socket,
    certificate: Path | None,
    on_tick: Callable[[], None],
) -> None:
    """Serve until it is interrupted, the tester's loop in a thread of its own; on_tick is called every second."""
    server = _Server(served, here, certificate)
    thread = threading.Thread(target=loop.run, daemon=True)
    try:
        with contextlib.suppress(asyncio.CancelledError):
            asyncio.run(server.run_on(line, thread.start, on_tick))
    finally:
        loop.stop()
        thread.join(GRACE_S)


@contextlib.contextmanager
def serving(served: Served, here: Here, line: socket.socket, certificate: Path | None) -> Iterator[None]:
    """Serve in a thread of its own while this lasts; what is shown last is sent before it ends."""
    server = _Server(served, here, certificate)
    begun = threading.Event()

    def run() -> None:
        with contextlib.suppress(asyncio.CancelledError):
            asyncio.run(server.run_on(line, begun.set, lambda: None))

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    begun.wait(BEGIN_S)
    try:
        yield
    finally:
        server.end()
        thread.join(2 * GRACE_S)
