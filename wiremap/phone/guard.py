"""What every request must be before anything looks at it, and what every answer carries; plain ASGI."""

import asyncio
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from msgspec import Struct

from wiremap.phone.doors import Doors, Rates

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

PHONE_SHELL = ("/", "/phone.js", "/phone.css")
LIMITS = {"/enter": 4_000, "/do": 4_000, "/photo": 12_000_000}  # bytes of a body
TYPES = {"/enter": "application/json", "/do": "application/json", "/photo": "image/jpeg"}  # no simple form can say them
BODY_S = 60.0  # a photo over a slow Wi-Fi
ASKS_MOST, ASKS_PER_S = 120, 10.0  # of one address
HEADERS = {
    "content-security-policy": "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; "
    "img-src data: blob:; media-src blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    "cache-control": "no-store",
    "referrer-policy": "no-referrer",
}


class Here(Struct, frozen=True):
    """Where it is served. hosts: every Host header that is ours, port included. scheme: http or https."""

    hosts: tuple[str, ...]
    scheme: str = "http"

    @property
    def origins(self) -> tuple[str, ...]:
        """Return every Origin header of our own pages."""
        return tuple(f"{self.scheme}://{host}" for host in self.hosts)


class PhoneRefusedError(Exception):
    """A request is refused, with a status of HTTP and a word."""

    def __init__(self, status: int, word: str) -> None:
        super().__init__(word)
        self.status = status
        self.word = word


class Guard:
    """Lets through to an app only what is allowed; `scope["state"]["phone"]` says which phone it is."""

    def __init__(self, app: App, here: Here, doors: Doors, rates: Rates) -> None:
        self._app = app
        self._here = here
        self._doors = doors
        self._rates = rates

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request, or refuse it."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return

        async def dressed(message: Message) -> None:
            if message["type"] == "http.response.start":
                own = [(name.encode(), value.encode()) for name, value in HEADERS.items()]
                message["headers"] = [pair for pair in message.get("headers", ()) if pair[0] != b"server"] + own
            await send(message)

        try:
            scope.setdefault("state", {})["phone"] = self._allowed(scope)
            await self._app(scope, await _bounded(scope, receive), dressed)
        except PhoneRefusedError as refused:
            await _refuse(refused, dressed)

    def _allowed(self, scope: Scope) -> str | None:
        """Return which phone it is, None for what is open to all; PhoneRefusedError says what is wrong."""
        heads = [(name.decode("latin-1").lower(), value.decode("latin-1")) for name, value in scope["headers"]]
        path, method = scope["path"], scope["method"]
        _host(heads, self._here)
        address = (scope.get("client") or ("",))[0]
        if not self._rates.allows("any", address, ASKS_MOST, ASKS_PER_S):
            raise PhoneRefusedError(429, "too often")
        if method == "POST":
            _post(path, heads, self._here)
        elif method != "GET":
            raise PhoneRefusedError(405, "GET and POST only")
        if path in PHONE_SHELL and method == "GET":
            return None
        if path == "/enter":
            return None
        phone = self._doors.phone("; ".join(value for name, value in heads if name == "cookie"))
        if phone is None:
            raise PhoneRefusedError(401, "scan the code on the laptop")
        return phone


async def _bounded(scope: Scope, receive: Receive) -> Receive:
    """Read a body no longer than its route allows, and not for ever; return what gives it whole."""
    if scope["method"] != "POST":
        return receive
    most, parts, more = LIMITS[scope["path"]], [], True
    while more:
        try:
            message = await asyncio.wait_for(receive(), BODY_S)
        except TimeoutError:
            raise PhoneRefusedError(408, "too slow") from None
        if message["type"] != "http.request":
            raise PhoneRefusedError(400, "gone before the end")
        parts.append(message.get("body", b""))
        more = message.get("more_body", False)
        if sum(map(len, parts)) > most:
            raise PhoneRefusedError(413, f"more than {most} bytes")
    given = False

    async def whole() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": b"".join(parts), "more_body": False}

    return whole


def _host(heads: list[tuple[str, str]], here: Here) -> None:
    if [value for name, value in heads if name == "host"] not in [[host] for host in here.hosts]:
        raise PhoneRefusedError(421, "not the name this is served under")


def _post(path: str, heads: list[tuple[str, str]], here: Here) -> None:
    if path not in LIMITS:
        raise PhoneRefusedError(405, "nothing to post there")
    if [value for name, value in heads if name == "origin"] not in [[origin] for origin in here.origins]:
        raise PhoneRefusedError(403, "not from our own page")
    if any(value != "same-origin" for name, value in heads if name == "sec-fetch-site"):
        raise PhoneRefusedError(403, "not from our own page")
    if [value for name, value in heads if name == "content-type"] != [TYPES[path]]:
        raise PhoneRefusedError(415, f"{TYPES[path]} only")
    lengths = [value for name, value in heads if name == "content-length"]
    if any(not value.isdigit() or int(value) > LIMITS[path] for value in lengths):
        raise PhoneRefusedError(413, f"more than {LIMITS[path]} bytes")


async def _refuse(refused: PhoneRefusedError, send: Send) -> None:
    body = refused.word.encode()
    heads = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode())]
    if refused.status in (408, 413):
        heads.append((b"connection", b"close"))
    await send({"type": "http.response.start", "status": refused.status, "headers": heads})
    await send({"type": "http.response.body", "body": body})
