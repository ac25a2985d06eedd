"""A browser of a few lines, on the ASGI of the whole: no network, no clock but the test's own."""

import asyncio
import json
from collections.abc import Sequence
from concurrent.futures import Future
from pathlib import Path
from typing import Any, cast

from wiremap.bench.handset import Handset, Wish
from wiremap.bench.handset_loop import HandsetLoop, HandsetView, WishAnswer
from wiremap.phone.app import Served, Streams, app_of
from wiremap.phone.doors import Doors, Rates
from wiremap.phone.guard import Here

HOST = "boat.test:8712"
ORIGIN = f"http://{HOST}"
SECONDS = 5.0  # a stream that ought not to be open would hang
Heads = Sequence[tuple[str, str]]


class Answer:
    """An answer of HTTP."""

    def __init__(self, status: int, heads: list[tuple[str, str]], body: bytes) -> None:
        self.status = status
        self.heads = heads
        self.body = body

    def head(self, name: str) -> str:
        """Return a header, "" where there is none."""
        return next((value for key, value in self.heads if key == name), "")


class Quiet:
    """A tester's loop that carries out everything and notes it."""

    def __init__(self) -> None:
        self.view = HandsetView(1, Handset("W-1"), None)
        self.alive_s = 0.0
        self.asked: list[tuple[Wish, bytes]] = []

    def ask(self, wish: Wish, photo: bytes = b"") -> "Future[WishAnswer]":
        """Note a wish."""
        self.asked.append((wish, photo))
        answer: Future[WishAnswer] = Future()
        answer.set_result(WishAnswer(True, "done"))
        return answer


class Boat:
    """What is served, with a clock that stands until it is moved."""

    def __init__(self, folder: Path, is_secure: bool = False) -> None:
        self.now = 1_000_000.0
        self.folder = folder
        self.loop = Quiet()
        self.doors = Doors(folder / "doors.json", 8712, is_secure, lambda: self.now)
        rates = Rates(lambda: self.now)
        loop = cast(HandsetLoop, self.loop)
        self.served = Served(loop, self.doors, rates, lambda: self.now, Streams())
        self.app = app_of(self.served, Here((HOST, "192.168.43.1:8712"), "https" if is_secure else "http"))

    def ask(
        self,
        method: str,
        path: str,
        heads: Heads = (),
        body: bytes = b"",
        *,
        host: Heads = (("host", HOST),),
        origin: Heads = (("origin", ORIGIN),),
        address: str = "192.168.43.20",
        pieces: int = 1,
    ) -> Answer:
        """Ask for something; pieces: in how many the body comes."""
        where, _, query = path.partition("?")
        every = [*host, *(origin if method == "POST" else ()), *heads]
        scope: dict[str, Any] = {
            "type": "http",
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": method,
            "scheme": "http",
            "path": where,
            "raw_path": where.encode(),
            "query_string": query.encode(),
            "headers": [(name.encode(), value.encode("latin-1")) for name, value in every],
            "client": (address, 40000),
            "server": ("127.0.0.1", 8712),
        }
        size = max(1, -(-len(body) // pieces))
        parts = [body[at : at + size] for at in range(0, len(body), size)] or [b""]
        return asyncio.run(asyncio.wait_for(self._asked(scope, parts), SECONDS))

    async def _asked(self, scope: dict[str, Any], parts: list[bytes]) -> Answer:
        got: list[dict[str, Any]] = []

        async def receive() -> dict[str, Any]:
            if not parts:
                return {"type": "http.disconnect"}
            part = parts.pop(0)
            return {"type": "http.request", "body": part, "more_body": bool(parts)}

        async def send(message: Any) -> None:
            got.append(dict(message))

        await self.app(scope, receive, send)
        start = next(message for message in got if message["type"] == "http.response.start")
        heads = [(name.decode().lower(), value.decode()) for name, value in start["headers"]]
        body = b"".join(message.get("body", b"") for message in got if message["type"] == "http.response.body")
        return Answer(start["status"], heads, body)

    def post(self, path: str, said: Any, heads: Heads = (), **how: Any) -> Answer:
        """Post JSON."""
        body = said if isinstance(said, bytes) else json.dumps(said).encode()
        return self.ask("POST", path, [("content-type", "application/json"), *heads], body, **how)

    def enter(self, **how: Any) -> list[tuple[str, str]]:
        """Come in, and return the header with the cookie."""
        answer = self.post("/enter", {"secret": self.doors.secret()}, **how)
        assert answer.status == 204, answer.body
        return [("cookie", answer.head("set-cookie").partition(";")[0])]


WISH = {"id": "abcdefgh", "what": "again", "test": 0, "words": []}
